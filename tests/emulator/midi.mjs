/* USART1 as a transmitter, with its two stages (data register and shift register), and the bytes that leave it.
 *
 * Written anew because the transmitter of avr8js has one stage, which would hold the firmware up.  Not modelled: the
 * baud rate generator runs freely, so that on the real chip a byte on an idle wire may start up to one sixteenth of a
 * bit later.  A rate off 31,250 baud by more than 1 %, another frame than 8N1 or a byte written over one that still
 * waits is reported (IEC 63035: 31.25 kBd +/- 1 %, one start bit, eight data bits, one stop bit).
 */
import { CLOCK_HZ, USART1 } from './chip.mjs';

const MIDI_BAUD = 31_250;
const TOLERANCE = 0.01;
const TXC = 0x40;
const UDRE = 0x20;
const U2X = 0x02;
const TXEN = 0x08;

export class MidiOut {
  constructor(report) {
    this.report = report;
    this.starts = [];
    this.bytes = [];
    this.baud = null;
  }

  attach({ cpu }) {
    const { UCSRA, UCSRB, UCSRC, UDR, udreVector, txcVector } = USART1;
    this.cpu = cpu;
    this.waiting = -1;
    this.shifting = false;
    /* The data register's interrupt stands as long as the register is empty: entering it does not clear it. */
    const flag = (address, mask) => ({
      address, flagRegister: UCSRA, flagMask: mask, enableRegister: UCSRB, enableMask: mask,
    });
    this.empty = { ...flag(udreVector, UDRE), constant: true };
    this.complete = flag(txcVector, TXC);
    cpu.data[UCSRA] = UDRE;
    cpu.data[UCSRC] = 0x06;
    cpu.writeHooks[UCSRA] = (value) => {
      if (value & TXC) cpu.clearInterrupt(this.complete);
      cpu.data[UCSRA] = (cpu.data[UCSRA] & (TXC | UDRE)) | (value & U2X);
      return true;
    };
    cpu.writeHooks[UCSRB] = (value) => {
      cpu.updateInterruptEnable(this.empty, value);
      cpu.updateInterruptEnable(this.complete, value);
    };
    cpu.writeHooks[UDR] = (value) => this.#write(value);
  }

  get busy() {
    return this.shifting;
  }

  #write(value) {
    if (!(this.cpu.data[USART1.UCSRB] & TXEN)) {
      this.report('MIDI byte written while the transmitter is off');
    } else if (!this.shifting) {
      this.#start(value, this.cpu.cycles);
    } else {
      if (this.waiting >= 0) this.report('MIDI byte written over one that still waits');
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
    const divisor = ((data[USART1.UBRRH] & 0x0f) << 8) | data[USART1.UBRRL];
    return (divisor + 1) * (data[USART1.UCSRA] & U2X ? 8 : 16);
  }

  #checkFrame() {
    const { data } = this.cpu;
    this.baud = CLOCK_HZ / this.#bitCycles();
    if (Math.abs(this.baud / MIDI_BAUD - 1) > TOLERANCE) {
      this.report(`baud rate is ${Math.round(this.baud)}, allowed ${MIDI_BAUD} within 1 %`);
    }
    if (data[USART1.UCSRC] !== 0x06 || data[USART1.UCSRB] & 0x04) this.report('frame is not 8N1');
  }
}
