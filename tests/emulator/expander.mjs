/* MCP23017 port expanders on the two-wire bus of the controller.
 *
 * The bus takes its time: each start, stop and repeated start one period of its clock, each byte nine (NXP UM10204).
 * The registers are those of IOCON.BANK 0 with a pointer that moves on behind every byte (Microchip DS20001952C,
 * register addresses and byte mode).  A pin set as an input shows its line, where a closed contact pulls low and an open
 * one needs the pull-up of GPPU: an input that nothing holds is reported.  GPA7 and GPB7 must be outputs (DS20001952D).
 * An expander that is away does not acknowledge, and has forgotten its settings when it comes back.
 *
 * A device that was left in the middle of a byte holds the data wire low until it has been clocked through (NXP UM10204,
 * bus clear): no start gets through meanwhile, and what the controller's pin does to the clock wire is counted.
 */
const REGISTERS = 0x16;
const IODIR = 0x00;
const IPOL = 0x02;
const IOCON = 0x0a;
const GPPU = 0x0c;
const GPIO = 0x12;
const OLAT = 0x14;
const BYTE_BITS = 9;
const OUTPUT_ALONE = 0x80;

class Expander {
  constructor({ address, levels, away = false }, report) {
    this.address = address;
    this.levels = Uint8Array.from(levels);
    this.report = report;
    this.away = away;
    this.#powerOn();
  }

  #powerOn() {
    this.registers = new Uint8Array(REGISTERS);
    this.registers.fill(0xff, IODIR, IODIR + 2);
    this.pointer = 0;
  }

  plug(fitted) {
    this.away = !fitted;
    if (fitted) this.#powerOn();
  }

  setPin(pin, level) {
    const port = pin >> 3;
    if (level) this.levels[port] |= 1 << (pin & 7);
    else this.levels[port] &= ~(1 << (pin & 7));
  }

  write(byte) {
    const at = this.pointer;
    if (at >= GPIO && at < OLAT) this.registers[at + OLAT - GPIO] = byte;
    else this.registers[at] = byte;
    if (this.registers[IOCON] & OUTPUT_ALONE) this.report('expander: IOCON.BANK 1 is not modelled');
    this.#moveOn();
  }

  read() {
    const at = this.pointer;
    this.#moveOn();
    return at === GPIO || at === GPIO + 1 ? this.#port(at - GPIO) : this.registers[at];
  }

  #moveOn() {
    this.pointer = (this.pointer + 1) % REGISTERS;
  }

  #port(port) {
    const inputs = this.registers[IODIR + port];
    if (inputs & OUTPUT_ALONE) this.report(`expander 0x${this.address.toString(16)}: pin 7 of a port is an input`);
    const floating = inputs & this.levels[port] & ~this.registers[GPPU + port];
    if (floating) this.report(`expander 0x${this.address.toString(16)}: an input floats, no pull-up`);
    const seen = (inputs & this.levels[port]) | (~inputs & this.registers[OLAT + port]);
    return (seen ^ this.registers[IPOL + port]) & 0xff;
  }
}

export class ExpanderBus {
  /* `wires`: the pins of clock and data, each a port's letter and a bit; `pins` shows the controller their levels. */
  constructor(expanders, report, wires, pins) {
    Object.assign(this, { wires, pins, held: 0, clockIsLow: false });
    this.expanders = expanders.map((each) => new Expander(each, report));
    this.report = report;
    this.talking = null;
    this.pointed = false;
    this.began = null;
    this.result = { rounds: [], refused: 0, hertz: null };
  }

  setPin(expander, pin, level) {
    this.expanders[expander].setPin(pin, level);
  }

  plug(expander, fitted) {
    this.expanders[expander].plug(fitted !== 0);
  }

  /* From now on a device holds the data wire until it has been clocked so often. */
  hold(clocks) {
    this.held = clocks;
    this.pins.pull(this.wires.data, true);
  }

  attach({ cpu, twi, ports }, contacts) {
    Object.assign(this, { cpu, twi, contacts, began: null, talking: null });
    twi.eventHandler = this;
    ports[this.wires.clock[0]].addListener(() => this.#followClock(ports));
  }

  #followClock(ports) {
    const [letter, bit] = this.wires.clock;
    const { DDR, PORT } = ports[letter].portConfig;
    const drives = this.cpu.data[DDR] & (1 << bit);
    if (drives && this.cpu.data[PORT] & (1 << bit)) this.report('the clock wire of the bus is driven high');
    const isLow = Boolean(drives);
    if (this.clockIsLow && !isLow) this.#clocked();
    this.clockIsLow = isLow;
  }

  /* Whoever clocks by hand has given up what was under way. */
  #clocked() {
    if (this.twi.giveUp) this.twi.giveUp();
    else this.twi.busy = false;
    if (this.held === 0) return;
    this.held -= 1;
    if (this.held === 0) this.pins.pull(this.wires.data, false);
  }

  /* What the bus does takes so many periods of its clock; then the controller is told. */
  #after(bits, done) {
    this.cpu.addClockEvent(done, Math.round((bits * 16e6) / this.twi.sclFrequency));
  }

  start(repeated) {
    if (!repeated) this.began = this.cpu.cycles;
    this.result.hertz = this.twi.sclFrequency;
    this.talking = null;
    this.contacts.advance(this.cpu.cycles);
    if (this.held === 0) this.#after(1, () => this.twi.completeStart());
  }

  stop() {
    this.#after(1, () => {
      if (this.began !== null) this.result.rounds.push([this.began, this.cpu.cycles]);
      this.began = null;
      this.twi.completeStop();
    });
  }

  connectToSlave(address, write) {
    this.#after(BYTE_BITS, () => {
      this.contacts.advance(this.cpu.cycles);
      this.talking = this.expanders.find((each) => each.address === address && !each.away) ?? null;
      this.pointed = !write;
      if (!this.talking) this.result.refused += 1;
      this.twi.completeConnect(this.talking !== null);
    });
  }

  writeByte(byte) {
    this.#after(BYTE_BITS, () => {
      if (this.pointed) this.talking.write(byte);
      else this.talking.pointer = byte;
      this.pointed = true;
      this.twi.completeWrite(true);
    });
  }

  /* The levels are those at the beginning of their byte. */
  readByte() {
    this.contacts.advance(this.cpu.cycles);
    const byte = this.talking.read();
    this.#after(BYTE_BITS, () => this.twi.completeRead(byte));
  }
}
