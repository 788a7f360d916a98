/* Serial port 1 as MIDI out and in: its transmitter with a store of 32 bytes, and the bytes that leave it.
 *
 * rp2040js hands each byte on at once and calls the store empty for ever; here a byte takes its ten bits, and the flags
 * say so (RP2040 data sheet, 4.2.8, UARTFR).  A rate off 31,250 baud by more than 1 %, another frame than 8N1, a pin
 * that is not connected or drives too little, and a byte for which there was no room are reported (IEC 63035).
 */
import { CLOCK_HZ, nanosUntil, now } from './chip.mjs';

const MIDI_BAUD = 31_250;
const TOLERANCE = 0.01;
const STORE = 32;
const EIGHT_BITS = 3 << 5;
const FRAME = 0x6e; /* word length, two stops, parity */
const FIFOS = 1 << 4;
const SENDS = 0x101;
const PIN_OUT = 20;
const PIN_IN = 21;
const FUNCTION_UART = 2;
const STRONGEST = 3;
const FLAGS = { busy: 1 << 3, txFull: 1 << 5, txEmpty: 1 << 7, rxEmpty: 1 << 4, rxFull: 1 << 6 };

export class MidiWire {
  /* `incoming` is [[moment, byte], ...] in order of time: the moment at which a byte is wholly there. */
  constructor(incoming, report) {
    this.incoming = incoming;
    this.report = report;
    this.starts = [];
    this.bytes = [];
    this.baud = null;
    this.mostWaiting = 0;
  }

  attach(chip) {
    const { mcu } = chip;
    const uart = mcu.uart[1];
    Object.assign(this, { chip, uart, mcu, waiting: [], busy: false });
    this.done = mcu.clock.createAlarm(() => this.#finish());
    uart.onByte = (byte) => this.#write(byte);
    this.#expect();
    Object.defineProperty(uart, 'flags', { get: () => this.#flags() });
  }

  /* Bytes that would have come before a life began are lost in it. */
  #expect() {
    const { clock } = this.mcu;
    for (const [moment, byte] of this.incoming) {
      const nanos = nanosUntil(this.chip, moment);
      if (nanos > 0) clock.createAlarm(() => this.#receive(byte)).schedule(nanos);
    }
  }

  #receive(byte) {
    const { uart, mcu } = this;
    if (mcu.gpio[PIN_IN].functionSelect !== FUNCTION_UART) this.report('MIDI comes in while its pin is not connected');
    if (uart.rxFIFO.full) this.report('MIDI came in while the store was full');
    else uart.feedByte(byte);
  }

  get result() {
    return this.starts.map((moment, index) => [moment, this.bytes[index]]);
  }

  #flags() {
    const { rxFIFO } = this.uart;
    return (
      (this.busy ? FLAGS.busy : 0) |
      (this.waiting.length >= STORE ? FLAGS.txFull : 0) |
      (this.waiting.length ? 0 : FLAGS.txEmpty) |
      (rxFIFO.empty ? FLAGS.rxEmpty : 0) |
      (rxFIFO.full ? FLAGS.rxFull : 0)
    );
  }

  #write(byte) {
    this.#check();
    if (!this.busy) {
      this.#start(byte, now(this.chip));
      return;
    }
    const room = this.uart.lineCtrlRegister & FIFOS ? STORE : 1;
    if (this.waiting.length >= room) this.report('MIDI byte written while the store was full');
    this.waiting.push(byte);
    this.mostWaiting = Math.max(this.mostWaiting, this.waiting.length);
  }

  #start(byte, cycle) {
    this.busy = true;
    this.starts.push(cycle);
    this.bytes.push(byte);
    this.done.schedule(10e9 / this.baud);
  }

  #finish() {
    this.busy = false;
    if (this.waiting.length) this.#start(this.waiting.shift(), now(this.chip));
  }

  #check() {
    const { uart, mcu } = this;
    this.baud = CLOCK_HZ / 16 / uart.baudDivider;
    if (Math.abs(this.baud / MIDI_BAUD - 1) > TOLERANCE) {
      this.report(`baud rate is ${Math.round(this.baud)}, allowed ${MIDI_BAUD} within 1 %`);
    }
    if ((uart.lineCtrlRegister & FRAME) !== EIGHT_BITS) this.report('frame is not 8N1');
    if ((uart.ctrlRegister & SENDS) !== SENDS) this.report('MIDI byte written while the transmitter is off');
    const pin = mcu.gpio[PIN_OUT];
    if (pin.functionSelect !== FUNCTION_UART) this.report('MIDI byte written while the wire is on no pin');
    if (pin.driveStrength !== STRONGEST) this.report('the pin of the MIDI loop drives less than 12 mA');
  }
}
