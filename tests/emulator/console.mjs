/* The whole emulated console: the models around one controller, through all its lives from reset to reset. */
import { avrInstruction } from 'avr8js';

import { CHIPS, Restart, startChip } from './chip.mjs';
import { contactsOf } from './contacts.mjs';
import { ShoeVoltages } from './converter.mjs';
import { ExpanderBus } from './expander.mjs';
import { InterruptWatch } from './interrupts.mjs';
import { ScanMarks } from './marks.mjs';
import { Matrix } from './matrix.mjs';
import { MultiplexerBank } from './multiplexer.mjs';
import { Pins } from './pins.mjs';
import { Problems } from './problems.mjs';
import { RegisterChain } from './registers.mjs';
import { Scanner } from './scanner.mjs';
import { LINK_LINE, MIDI_LINE, Uart } from './uart.mjs';
import { UsbHost } from './usb_host.mjs';

const STACK_LOW = 0x5d;
const STACK_HIGH = 0x5e;
const HALVES_CYCLES = 4;
const BUS_WIRES = { clock: ['D', 0], data: ['D', 1] }; /* on both chips (data sheets, pin configurations) */

export class EmulatedConsole {
  constructor(scenario, program) {
    this.scenario = scenario;
    this.layout = CHIPS[scenario.board];
    this.program = program;
    this.problems = new Problems();
    const { report } = this.problems;
    this.report = report;
    this.chain = scenario.chain ? new RegisterChain(scenario.chain, report) : null;
    this.matrices = (scenario.matrices ?? []).map((matrix) => new Matrix(matrix, report));
    this.banks = (scenario.banks ?? []).map((bank) => new MultiplexerBank(bank, report));
    this.scanner = scenario.scanner ? new Scanner(scenario.scanner, report) : null;
    this.pins = new Pins(this.layout.ports, scenario.ports ?? {}, this.matrices, this.banks, report, this.scanner);
    this.bus = scenario.expanders?.length ? new ExpanderBus(scenario.expanders, report, BUS_WIRES, this.pins) : null;
    this.shoes = new ShoeVoltages(scenario.converters ?? {}, report, scenario.tracks ?? {});
    this.midi = new Uart(MIDI_LINE, scenario.midi_in ?? [], report);
    this.link = this.layout.linkSerial ? new Uart(LINK_LINE, scenario.link_in ?? [], report) : null;
    this.usb = this.layout.usb ? new UsbHost(scenario.usb, report) : null;
    this.marks = new ScanMarks(scenario);
    this.contacts = contactsOf(scenario.events ?? [], this);
    this.interrupts = scenario.watch_vector ? new InterruptWatch(scenario.watch_vector) : null;
    this.resets = scenario.resets ?? [];
    this.restarts = [];
    this.instructions = 0;
    this.lowestStack = 0xffff;
  }

  run() {
    this.#start('power-on');
    for (const [cycle, cause] of this.resets) {
      this.#runUntil(cycle);
      this.#start(cause);
    }
    this.#runUntil(this.scenario.cycles);
  }

  #start(cause) {
    this.chip = startChip(this.layout, this.program, cause, this.report, this.chip);
    this.restarts.push([this.chip.cpu.cycles, cause]);
    this.midi.attach(this.chip.cpu, this.layout.midiSerial);
    this.link?.attach(this.chip.cpu, this.layout.linkSerial);
    this.usb?.attach(this.chip);
    this.pins.attach(this.chip, this.contacts);
    this.matrices.forEach((matrix) => matrix.attach(this.chip));
    this.banks.forEach((bank) => bank.attach(this.chip));
    this.bus?.attach(this.chip, this.contacts);
    this.scanner?.attach(this.chip, this.contacts);
    this.chain?.attach(this.chip, this.contacts, this.scenario.keep_loads);
    this.shoes.attach(this.chip, this.contacts);
    this.marks.attach(this.chip, this.contacts, this.midi);
    this.#watchStackPointer(this.chip.cpu);
  }

  /* A program that moves the stack pointer itself writes its high byte first: until the low one follows, it is no
   * depth. */
  #watchStackPointer(cpu) {
    this.stackWhole = cpu.cycles;
    cpu.writeHooks[STACK_HIGH] = () => {
      this.stackWhole = cpu.cycles + HALVES_CYCLES;
    };
  }

  #runUntil(cycle) {
    while (this.chip.cpu.cycles < cycle) {
      try {
        if (this.interrupts) this.#executeWatching(cycle);
        else this.#execute(cycle);
      } catch (error) {
        if (!(error instanceof Restart)) throw error;
        this.#start(error.cause);
      }
    }
  }

  /* The inner loop: one instruction, then whatever became due; the stack pointer is watched on the way. */
  #execute(limit) {
    const { cpu } = this.chip;
    const { data } = cpu;
    let count = 0;
    let lowest = this.lowestStack;
    try {
      while (cpu.cycles < limit) {
        avrInstruction(cpu);
        /* A call brings about one event: of two that are due together the second would come an instruction late. */
        do cpu.tick(); while (cpu.nextClockEvent !== null && cpu.nextClockEvent.cycles <= cpu.cycles);
        count += 1;
        const stack = data[STACK_LOW] | (data[STACK_HIGH] << 8);
        if (stack < lowest && cpu.cycles > this.stackWhole) lowest = stack;
      }
    } finally {
      this.instructions += count;
      this.lowestStack = lowest;
    }
  }

  /* The same, slower, with an eye on one interrupt; the stack is not watched. */
  #executeWatching(limit) {
    const { cpu } = this.chip;
    while (cpu.cycles < limit) {
      const ends = this.interrupts.before(cpu);
      avrInstruction(cpu);
      if (ends) this.interrupts.after(cpu);
      do cpu.tick(); while (cpu.nextClockEvent !== null && cpu.nextClockEvent.cycles <= cpu.cycles);
      this.instructions += 1;
    }
  }

  get result() {
    return {
      midi: this.midi.result,
      link: this.link?.result ?? [],
      usb: this.usb?.result ?? null,
      baud: this.midi.baud,
      scans: this.marks.result,
      marks: this.marks.raw,
      chain: this.chain?.result ?? null,
      bus: this.bus?.result ?? null,
      scanner: this.scanner?.result ?? null,
      interrupts: this.interrupts?.durations ?? [],
      conversions: this.shoes.conversions,
      problems: this.problems.result,
      restarts: this.restarts,
      events_applied: this.contacts.next,
      lowest_stack: this.lowestStack,
      instructions: this.instructions,
      cycles: this.chip.cpu.cycles,
    };
  }
}
