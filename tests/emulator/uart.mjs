/* A serial port of the controller: a transmitter with its two stages (data register and shift register), the bytes that
 * leave it, and a receiver that holds two bytes behind the one that is coming in.
 *
 * Written anew because the transmitter of avr8js has one stage, which would hold the firmware up.  Not modelled: the
 * baud rate generator runs freely, so that on the real chip a byte on an idle wire may start up to one sixteenth of a
 * bit later.  A rate too far off the line's own, another frame than 8N1, a byte written over one that still waits and
 * a byte that comes in while two wait are reported.
 */
import { CLOCK_HZ } from './chip.mjs';

const RXC = 0x80;
const TXC = 0x40;
const UDRE = 0x20;
const U2X = 0x02;
const RXEN = 0x10;
const TXEN = 0x08;
const HELD = 2;

export class Uart {
  /* `line`: its name, baud and tolerance; `incoming`: [[cycle at which the byte is there, byte], ...] in order. */
  constructor(line, incoming, report) {
    this.line = line;
    this.incoming = incoming;
    this.report = report;
    this.next = 0;
    this.starts = [];
    this.bytes = [];
    this.baud = null;
  }

  attach(cpu, registers) {
    const { UCSRA, UCSRB, UCSRC, UDR, rxVector, udreVector, txcVector } = registers;
    Object.assign(this, { cpu, registers, waiting: -1, shifting: false, held: [] });
    /* Data register empty and byte received stand until the register is served: entering the interrupt clears neither. */
    const flag = (address, mask) => ({
      address, flagRegister: UCSRA, flagMask: mask, enableRegister: UCSRB, enableMask: mask,
    });
    this.empty = { ...flag(udreVector, UDRE), constant: true };
    this.received = { ...flag(rxVector, RXC), constant: true };
    this.complete = flag(txcVector, TXC);
    cpu.data[UCSRA] = UDRE;
    cpu.data[UCSRC] = 0x06;
    cpu.writeHooks[UCSRA] = (value) => {
      if (value & TXC) cpu.clearInterrupt(this.complete);
      cpu.data[UCSRA] = (cpu.data[UCSRA] & (RXC | TXC | UDRE)) | (value & U2X);
      return true;
    };
    cpu.writeHooks[UCSRB] = (value) => {
      for (const interrupt of [this.received, this.empty, this.complete]) cpu.updateInterruptEnable(interrupt, value);
    };
    cpu.writeHooks[UDR] = (value) => this.#write(value);
    cpu.readHooks[UDR] = () => this.#read();
    this.#awaitNext();
  }

  get busy() {
    return this.shifting;
  }

  get result() {
    return this.starts.map((cycle, index) => [cycle, this.bytes[index]]);
  }

  #awaitNext() {
    if (this.next === this.incoming.length) return;
    this.cpu.addClockEvent(() => {
      this.#arrive(this.incoming[this.next][1]);
      this.next += 1;
      this.#awaitNext();
    }, this.incoming[this.next][0] - this.cpu.cycles);
  }

  #arrive(byte) {
    if (!(this.cpu.data[this.registers.UCSRB] & RXEN)) {
      this.report(`${this.line.name}: a byte came in while the receiver was off`);
    } else if (this.held.length === HELD) {
      this.report(`${this.line.name}: a byte came in while two still waited`);
    } else {
      this.held.push(byte);
      this.cpu.setInterruptFlag(this.received);
    }
  }

  #read() {
    const byte = this.held.shift() ?? 0;
    if (this.held.length === 0) this.cpu.clearInterrupt(this.received);
    return byte;
  }

  #write(value) {
    if (!(this.cpu.data[this.registers.UCSRB] & TXEN)) {
      this.report(`${this.line.name} byte written while the transmitter is off`);
    } else if (!this.shifting) {
      this.#start(value, this.cpu.cycles);
    } else {
      if (this.waiting >= 0) this.report(`${this.line.name} byte written over one that still waits`);
      this.waiting = value;
      this.cpu.clearInterrupt(this.empty);
    }
    return true;
  }

  #start(value, cycle) {
    this.#checkFrame();
    this.shifting = true;
    this.starts.push(cycle);
    this.bytes.push(value);
    this.endsAt = cycle + this.#bitCycles() * 10;
    this.cpu.addClockEvent(() => this.#finish(), this.endsAt - this.cpu.cycles);
  }

  #finish() {
    this.shifting = false;
    if (this.waiting < 0) {
      this.cpu.setInterruptFlag(this.complete);
      return;
    }
    const next = this.waiting;
    this.waiting = -1;
    this.#start(next, this.endsAt);
    this.cpu.setInterruptFlag(this.empty);
  }

  #bitCycles() {
    const { data } = this.cpu;
    const { UCSRA, UBRRH, UBRRL } = this.registers;
    const divisor = ((data[UBRRH] & 0x0f) << 8) | data[UBRRL];
    return (divisor + 1) * (data[UCSRA] & U2X ? 8 : 16);
  }

  #checkFrame() {
    const { data } = this.cpu;
    const { baud, tolerance } = this.line;
    this.baud = CLOCK_HZ / this.#bitCycles();
    if (Math.abs(this.baud / baud - 1) > tolerance) {
      this.report(`baud rate is ${Math.round(this.baud)}, allowed ${baud} within ${tolerance * 100} %`);
    }
    if (data[this.registers.UCSRC] !== 0x06 || data[this.registers.UCSRB] & 0x04) this.report('frame is not 8N1');
  }
}

/* 31.25 kBd +/- 1 % (IEC 63035); the board link has 2 %, what two ends of a serial line of ten bits may differ by at
 * most by common practice, no source. */
export const MIDI_LINE = { name: 'MIDI', baud: 31_250, tolerance: 0.01 };
export const LINK_LINE = { name: 'board link', baud: 38_400, tolerance: 0.02 };
