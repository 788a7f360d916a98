/* The emulated console around an RP2040, through all its lives from reset to reset.
 *
 * Contacts, matrices, multiplexers, expanders and the marks of the scan are the models that the AVR boards have too.
 * All pins are read at once here, so that a bank whose commons still move is seen by the reading of another: where there
 * are several, what is read too soon shows in the messages alone.
 */
import { Contacts } from '../contacts.mjs';
import { ExpanderBus } from '../expander.mjs';
import { ScanMarks } from '../marks.mjs';
import { Matrix } from '../matrix.mjs';
import { MultiplexerBank } from '../multiplexer.mjs';
import { LETTERS, Pins } from '../pins.mjs';
import { BusCarrier } from './bus.mjs';
import { RegisterChain } from './chain.mjs';
import { Restart, now, runUntil, startChip } from './chip.mjs';
import { Computer } from './computer.mjs';
import { ShoeVoltages } from './converter.mjs';
import { ADDRESSES, PortView } from './ports.mjs';
import { MidiWire } from './wire.mjs';

const MOST_PROBLEMS = 100;
const LOAD_PIN = 17;

export class EmulatedConsole {
  constructor(scenario, image) {
    this.scenario = scenario;
    this.image = image;
    this.problems = new Map();
    const report = (words) => this.#report(words);
    this.report = report;
    this.chain = scenario.chain ? new RegisterChain({ ...scenario.chain, latch_pin: LOAD_PIN }, report) : null;
    this.matrices = (scenario.matrices ?? []).map((matrix) => new Matrix(matrix));
    this.banks = (scenario.banks ?? []).map((bank, _, { length }) => new MultiplexerBank(bank, length > 1 ? () => {} : report));
    this.bus = scenario.expanders?.length ? new ExpanderBus(scenario.expanders, report) : null;
    this.pins = new Pins(ADDRESSES, scenario.ports ?? {}, this.matrices, this.banks, report);
    this.shoes = new ShoeVoltages(scenario.converters ?? {}, report);
    this.midi = new MidiWire(scenario.midi_in ?? [], report);
    this.computer = new Computer(scenario.usb ?? {}, report);
    this.marks = new ScanMarks(scenario);
    this.contacts = new Contacts(numberPorts(scenario.events ?? []), {
      chain: (register, bit, level) => this.chain.setInput(register, bit, level),
      matrix: (matrix, row, column, closed) => this.matrices[matrix].setContact(row, column, closed),
      port: (port, bit, level) => this.pins.setLevel(port, bit, level),
      converter: (channel, counts) => this.shoes.setCounts(channel, counts),
      multiplexer: (bank, input, bit, level) => this.banks[bank].setInput(input, bit, level),
      expander: (expander, pin, level) => this.bus.setPin(expander, pin, level),
      plug: (expander, fitted) => this.bus.plug(expander, fitted),
    });
    this.resets = scenario.resets ?? [];
    this.restarts = [];
    this.instructions = 0;
    this.lowestStack = 0xffffffff;
  }

  #report(words) {
    if (this.problems.size < MOST_PROBLEMS || this.problems.has(words)) {
      this.problems.set(words, (this.problems.get(words) ?? 0) + 1);
    }
  }

  run() {
    this.#start('power-on');
    for (const [moment, cause] of this.resets) {
      this.#runUntil(moment);
      this.#start(cause);
    }
    this.#runUntil(this.scenario.cycles);
    this.#countLife();
  }

  #start(cause) {
    if (this.chip) this.#countLife();
    const chip = startChip(this.image, cause, this.report, this.chip);
    this.chip = chip;
    const view = new PortView(chip, now);
    this.restarts.push([now(chip), cause]);
    this.midi.attach(chip);
    this.computer.attach(chip);
    this.pins.attach(view, this.contacts);
    this.matrices.forEach((matrix) => matrix.attach(view));
    this.banks.forEach((bank) => bank.attach(view));
    if (this.bus) {
      this.carrier = new BusCarrier(chip, view, this.report);
      this.bus.attach(view, this.contacts);
    }
    this.chain?.attach(chip, this.contacts, this.scenario.keep_loads);
    this.shoes.attach(chip, this.contacts, () => now(chip));
    this.marks.attach(view, this.contacts, this.midi);
    const [mark] = Object.values(view.cpu.writeHooks);
    chip.onMark = mark;
    chip.onPins = () => {
      view.follow();
      this.chain?.follow();
    };
  }

  #countLife() {
    this.instructions += this.chip.instructions;
    this.lowestStack = Math.min(this.lowestStack, this.chip.lowestStack);
  }

  #runUntil(moment) {
    while (now(this.chip) < moment) {
      try {
        runUntil(this.chip, moment);
      } catch (error) {
        if (!(error instanceof Restart)) throw error;
        this.#start(error.cause);
      }
    }
  }

  get result() {
    return {
      midi: this.midi.result,
      link: [],
      usb: this.computer.result,
      baud: this.midi.baud,
      most_waiting: this.midi.mostWaiting,
      scans: this.marks.result,
      marks: this.marks.raw,
      chain: this.chain?.result ?? null,
      bus: this.bus?.result ?? null,
      conversions: this.shoes.conversions,
      problems: Object.fromEntries(this.problems),
      restarts: this.restarts,
      events_applied: this.contacts.next,
      lowest_stack: this.lowestStack,
      instructions: this.instructions,
      cycles: now(this.chip),
    };
  }
}

/* Ports are named by letter in a scenario and counted inside, for events are kept as numbers. */
function numberPorts(events) {
  return events.map((event) => (event[1] === 'port' ? event.with(2, LETTERS.indexOf(event[2])) : event));
}
