/* A chain of 74HC165 parallel-in shift registers on the SPI, edge by edge.
 *
 * Register 0 is the nearest to the controller: its Q7 feeds MISO.  As in the data sheet (NXP 74HC_HCT165, function
 * table): while PL is low the contents follow the inputs and Q7 shows D7 at once; with PL high every RISING edge of CP
 * moves the next stage to Q7, the last register taking in its serial input.
 *
 * The edges of a byte follow the SPI mode (ATmega2560 data sheet, SPI data modes).  With CPHA 0 the controller samples
 * on the first edge, with CPHA 1 on the second; with CPOL 1 the first edge is the falling one.
 *   mode 0  sample on the rising edge, which also shifts: the old bit is still there (the register answers later)
 *   mode 1  rising edge first and unsampled: the chain has shifted before the first sample, and D7 is lost
 *   mode 2  sample on the falling edge, shift on the rising one after it: half a period of set-up, no race
 *   mode 3  the falling edge is unused; sample and shift on the rising edge, as mode 0
 * Modes 0 and 3 live on the register's propagation delay; they are counted as `edgeRaces`, mode 1 as `modeErrors`.
 */
import { PinState } from 'avr8js';

const LOW = PinState.Low;
const HIGH = PinState.High;
const SPE = 0x40;
const DORD = 0x20;
const MSTR = 0x10;
const CPOL = 0x08;
const CPHA = 0x04;
const FLAG = 0x80; /* of the status register */
const CLOCK_BIT = 0x02; /* SCK is PB1 */
const SELECT_BIT = 0x01; /* SS is PB0: as an input it could end the controller's being the master */

export class RegisterChain {
  constructor(
    { registers, latch, initial = [], serial_level: serialLevel = 1, late_cycles: lateCycles = 0 }, report,
  ) {
    this.registers = registers;
    this.bits = registers * 8;
    this.latch = latch;
    this.serialLevel = serialLevel;
    this.lateCycles = lateCycles;
    this.report = report;
    this.inputs = new Uint8Array(registers).fill(0xff);
    this.inputs.set(initial);
    this.held = Uint8Array.from(this.inputs);
    this.head = 0;
    this.loading = false;
    this.clockLevel = 0;
    this.result = {
      transfers: 0, modeErrors: 0, edgeRaces: 0, beyondEnd: 0, loads: 0, loadsDuringTransfer: 0, modes: {},
      loadCycles: [],
    };
  }

  setInput(register, bit, level) {
    if (level) this.inputs[register] |= 1 << bit;
    else this.inputs[register] &= ~(1 << bit);
  }

  attach(chip, contacts, keepLoadCycles) {
    const { cpu, spi, ports } = chip;
    Object.assign(this, { chip, cpu, spi, contacts, keepLoadCycles, transferring: false });
    const latchPort = ports[this.latch.port];
    latchPort.addListener(() => this.#latchMoved(latchPort.pinState(this.latch.bit) === LOW));
    ports.B.addListener(() => this.#followClockPin());
    spi.onByte = (value) => this.#transfer(value);
    this.#keepFlag(cpu, chip.spiControl + 1, chip.spiControl + 2);
    const writeControl = cpu.writeHooks[chip.spiControl];
    cpu.writeHooks[chip.spiControl] = (value, ...rest) => {
      this.#moveClock(this.#idleLevel(value));
      return writeControl(value, ...rest);
    };
  }

  /* The flag of a finished byte is cleared by reading the status with the flag set and then touching the data, not by
   * touching the data alone (ATmega2560 data sheet, SPI status register). */
  #keepFlag(cpu, status, data) {
    let seen = false;
    const touch = () => {
      if (seen) cpu.data[status] &= ~FLAG;
      seen = false;
    };
    cpu.readHooks[status] = () => {
      seen = (cpu.data[status] & FLAG) !== 0;
      return cpu.data[status];
    };
    cpu.readHooks[data] = () => {
      touch();
      return cpu.data[data];
    };
    const write = cpu.writeHooks[data];
    cpu.writeHooks[data] = (value, ...rest) => {
      touch();
      const kept = cpu.data[status] & FLAG;
      const taken = write(value, ...rest);
      cpu.data[status] |= kept;
      return taken;
    };
  }

  #idleLevel(control) {
    if (control & SPE && control & MSTR) return control & CPOL ? 1 : 0;
    return this.chip.ports.B.pinState(1) === HIGH ? 1 : 0;
  }

  #followClockPin() {
    this.#moveClock(this.#idleLevel(this.cpu.data[this.chip.spiControl]));
  }

  #moveClock(level) {
    if (level && !this.clockLevel) this.#shift();
    this.clockLevel = level;
  }

  #latchMoved(low) {
    if (low === this.loading) return;
    if (this.transferring) this.result.loadsDuringTransfer += 1;
    this.loading = low;
    if (low) return;
    this.contacts.advance(this.cpu.cycles);
    this.held.set(this.inputs);
    this.head = 0;
    this.result.loads += 1;
    if (this.keepLoadCycles) this.result.loadCycles.push(this.cpu.cycles);
  }

  /* The level at Q7 of register 0. */
  #output() {
    if (this.loading) {
      this.contacts.advance(this.cpu.cycles);
      return (this.inputs[0] >> 7) & 1;
    }
    if (this.head >= this.bits) return this.serialLevel;
    return (this.held[this.head >> 3] >> (7 - (this.head & 7))) & 1;
  }

  #shift() {
    if (!this.loading) this.head += 1;
  }

  #transfer() {
    const control = this.cpu.data[this.chip.spiControl];
    this.#checkPins(control);
    const mode = (control & CPOL ? 2 : 0) | (control & CPHA ? 1 : 0);
    this.#count(mode);
    const received = this.#clockByte(mode, (control & DORD) !== 0);
    this.transferring = true;
    this.cpu.addClockEvent(() => {
      this.transferring = false;
      this.spi.completeTransfer(received);
    }, this.spi.transferCycles + this.lateCycles);
  }

  #checkPins(control) {
    const directions = this.cpu.data[0x24];
    if (!(control & MSTR)) this.report('SPI transfer while the controller is not the master');
    if (!(directions & CLOCK_BIT)) this.report('SPI transfer while the clock pin is no output');
    if (!(directions & SELECT_BIT)) this.report('SPI transfer while the SS pin is an input');
  }

  #count(mode) {
    const { result } = this;
    result.transfers += 1;
    const name = `mode ${mode}, ${CLOCK_MHZ[this.spi.clockDivider]} MHz`;
    result.modes[name] = (result.modes[name] ?? 0) + 1;
    if (mode === 1) result.modeErrors += 1;
    if (mode === 0 || mode === 3) result.edgeRaces += 1;
    if (!this.loading && this.head >= this.bits) result.beyondEnd += 1;
  }

  /* Eight clock periods; both edges of each, the sample taken before what the same edge moves. */
  #clockByte(mode, leastFirst) {
    const idle = mode & 2 ? 1 : 0;
    const samplesSecond = (mode & 1) !== 0;
    let byte = 0;
    for (let place = 0; place < 8; place += 1) {
      let bit = 0;
      if (!samplesSecond) bit = this.#output();
      this.#moveClock(1 - idle);
      if (samplesSecond) bit = this.#output();
      this.#moveClock(idle);
      byte |= bit << (leastFirst ? place : 7 - place);
    }
    return byte;
  }
}

const CLOCK_MHZ = { 2: 8, 4: 4, 8: 2, 16: 1, 32: 0.5, 64: 0.25, 128: 0.125 };
