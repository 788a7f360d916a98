/* The emulated console around an RP2040, through all its lives from reset to reset.
 *
 * Contacts, matrices, multiplexers, expanders and the marks of the scan are the models that the AVR boards have too.
 * All pins are read at once here, so that a bank whose commons still move is seen by the reading of another: where there
 * are several, what is read too soon shows in the messages alone.
 */
import { contactsOf } from '../contacts.mjs';
import { ExpanderBus } from '../expander.mjs';
import { ScanMarks } from '../marks.mjs';
import { Matrix } from '../matrix.mjs';
import { MultiplexerBank } from '../multiplexer.mjs';
import { Pins } from '../pins.mjs';
import { Problems } from '../problems.mjs';
import { BusCarrier } from './bus.mjs';
import { RegisterChain } from './chain.mjs';
import { Restart, now, runUntil, startChip } from './chip.mjs';
import { Computer } from './computer.mjs';
import { ShoeVoltages } from './converter.mjs';
import { ADDRESSES, PortView } from './ports.mjs';
import { MidiWire } from './wire.mjs';

const LOAD_PIN = 17;
const BUS_WIRES = { clock: ['B', 7], data: ['B', 6] }; /* GP15 and GP14 */

export class EmulatedConsole {
  constructor(scenario, image) {
    this.scenario = scenario;
    this.image = image;
    this.problems = new Problems();
    const { report } = this.problems;
    this.report = report;
    this.chain = scenario.chain ? new RegisterChain({ ...scenario.chain, latch_pin: LOAD_PIN }, report) : null;
    this.matrices = (scenario.matrices ?? []).map((matrix) => new Matrix(matrix));
    this.banks = (scenario.banks ?? []).map((bank, _, { length }) => new MultiplexerBank(bank, length > 1 ? () => {} : report));
    this.pins = new Pins(ADDRESSES, scenario.ports ?? {}, this.matrices, this.banks, report);
    this.bus = scenario.expanders?.length ? new ExpanderBus(scenario.expanders, report, BUS_WIRES, this.pins) : null;
    this.shoes = new ShoeVoltages(scenario.converters ?? {}, report);
    this.midi = new MidiWire(scenario.midi_in ?? [], report);
    this.computer = new Computer(scenario.usb ?? {}, report);
    this.marks = new ScanMarks(scenario);
    this.contacts = contactsOf(scenario.events ?? [], this);
    this.resets = scenario.resets ?? [];
    this.restarts = [];
    this.instructions = 0;
    this.lowestStack = 0xffffffff;
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
      problems: this.problems.result,
      restarts: this.restarts,
      events_applied: this.contacts.next,
      lowest_stack: this.lowestStack,
      instructions: this.instructions,
      cycles: now(this.chip),
    };
  }
}
