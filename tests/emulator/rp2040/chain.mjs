/* A chain of 74HC165 parallel-in shift registers on the RP2040's synchronous serial port, edge by edge.
 *
 * Register 0 is the nearest to the controller.  As in the data sheet (NXP 74HC_HCT165, function table): while PL is low
 * the contents follow the inputs and Q7 shows D7 at once; with PL high every RISING edge of CP moves the next stage to
 * Q7.  The edges of a byte follow SPO and SPH (RP2040 data sheet, 4.4.3.9): with SPH 0 data is captured on the first
 * edge, with SPO 1 the clock rests high and the first edge falls.
 *
 * A mode that captures on the rising edge lives on the register's propagation delay and is counted as `edgeRaces`; SPO 0
 * with SPH 1 shifts before the first capture and loses D7: `modeErrors`.
 *
 * Time: eight periods of the clock, and with SPH 0 one and a half more, because the port's select signal goes up and
 * down between two bytes (drawn in the figures of 4.4.3.10 and 4.4.3.12; the length is from memory).
 */
import { now } from './chip.mjs';

const SPH = 1 << 7;
const SPO = 1 << 6;
const FRAME_FORMAT = 3 << 4;
const EIGHT_BITS = 7;
const PAUSE_HALVES = 3;
const DATA_IN = 16;
const CLOCK = 18;
const FUNCTION_SPI = 1;

export class RegisterChain {
  constructor({ registers, latch_pin: latchPin, initial = [], serial_level: serialLevel = 1 }, report) {
    this.bits = registers * 8;
    this.latchPin = latchPin;
    this.serialLevel = serialLevel;
    this.report = report;
    this.inputs = new Uint8Array(registers).fill(0xff);
    this.inputs.set(initial);
    this.held = Uint8Array.from(this.inputs);
    this.head = 0;
    this.loading = false;
    this.result = {
      transfers: 0, modeErrors: 0, edgeRaces: 0, beyondEnd: 0, loads: 0, loadsDuringTransfer: 0, modes: {},
      loadCycles: [], shortestLoad: null,
    };
  }

  setInput(register, bit, level) {
    if (level) this.inputs[register] |= 1 << bit;
    else this.inputs[register] &= ~(1 << bit);
  }

  attach(chip, contacts, keepLoadCycles) {
    const { mcu } = chip;
    Object.assign(this, { chip, mcu, spi: mcu.spi[0], contacts, keepLoadCycles, transferring: false });
    this.done = mcu.clock.createAlarm(() => this.#finish());
    this.spi.onTransmit = () => this.#transfer();
  }

  /* The load pin may have moved. */
  follow() {
    const { outputEnable, outputValue, functionSelect } = this.mcu.gpio[this.latchPin];
    const low = functionSelect === 5 && outputEnable && !outputValue;
    if (low === this.loading) return;
    if (this.transferring && !low) this.result.loadsDuringTransfer += 1;
    this.loading = low;
    if (low) this.lowSince = now(this.chip);
    else this.#load();
  }

  #load() {
    const cycle = now(this.chip);
    const { result } = this;
    result.shortestLoad = Math.min(result.shortestLoad ?? Infinity, cycle - this.lowSince);
    this.contacts.advance(cycle);
    this.held.set(this.inputs);
    this.head = 0;
    result.loads += 1;
    if (this.keepLoadCycles) result.loadCycles.push(cycle);
  }

  /* The level at Q7 of register 0. */
  #output() {
    if (this.loading) {
      this.contacts.advance(now(this.chip));
      return (this.inputs[0] >> 7) & 1;
    }
    if (this.head >= this.bits) return this.serialLevel;
    return (this.held[this.head >> 3] >> (7 - (this.head & 7))) & 1;
  }

  #transfer() {
    const { spi, result } = this;
    this.#checkPins();
    const mode = (spi.control0 & SPO ? 2 : 0) | (spi.control0 & SPH ? 1 : 0);
    const name = `mode ${mode}, ${(spi.clockFrequency / 1e6).toFixed(3)} MHz`;
    result.modes[name] = (result.modes[name] ?? 0) + 1;
    result.transfers += 1;
    if (mode === 1) result.modeErrors += 1;
    if (mode === 0 || mode === 3) result.edgeRaces += 1;
    if (!this.loading && this.head >= this.bits) result.beyondEnd += 1;
    this.received = this.#clockByte(mode);
    this.transferring = true;
    const halves = 16 + (mode & 1 ? 0 : PAUSE_HALVES);
    this.done.schedule((halves * 0.5e9) / spi.clockFrequency);
  }

  #finish() {
    this.transferring = false;
    this.spi.completeTransmit(this.received);
  }

  #checkPins() {
    const { spi, mcu } = this;
    if (mcu.gpio[CLOCK].functionSelect !== FUNCTION_SPI) this.report('SPI transfer while the clock is on no pin');
    if (mcu.gpio[DATA_IN].functionSelect !== FUNCTION_SPI) this.report('SPI transfer while data in is on no pin');
    if (spi.control0 & FRAME_FORMAT || (spi.control0 & 0xf) !== EIGHT_BITS || !spi.enabled) {
      this.report('SPI transfer that is no frame of 8 bits');
    }
  }

  /* Eight clock periods; both edges of each, the sample taken before what the same edge moves. */
  #clockByte(mode) {
    const restsHigh = (mode & 2) !== 0;
    const capturesSecond = (mode & 1) !== 0;
    let byte = 0;
    for (let place = 0; place < 8; place += 1) {
      let bit = 0;
      for (const second of [false, true]) {
        if (second === capturesSecond) bit = this.#output();
        const rises = second === restsHigh;
        if (rises && !this.loading) this.head += 1;
      }
      byte = (byte << 1) | bit;
    }
    return byte;
  }
}
