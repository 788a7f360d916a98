/* The controller's timers, counted only when somebody looks: an event is due at the next flag, not at every count.
 *
 * Written anew because the timers of avr8js cost an event per count, which halves the speed of a whole console.
 * Modelled are the modes that count up and begin again: normal, clear on compare (top in OCRnA or ICRn) and fast PWM.
 * In the modes that count up and down nothing is counted; reading such a timer or enabling its interrupts is reported.
 * (ATmega2560 data sheet: 8-bit timer 0 and 16-bit timers 1, 3, 4, 5, waveform generation modes.)
 */
const DIVIDERS = [0, 1, 8, 64, 256, 1024, 0, 0];
const FLAGS = { overflow: 0x01, a: 0x02, b: 0x04, c: 0x08 };

/* Per waveform mode: the top (a number, or the register that holds it), and whether there is an overflow flag. */
const MODES_8 = { 0: [0xff], 2: ['a', false], 3: [0xff], 7: ['a'] };
const MODES_16 = {
  0: [0xffff], 4: ['a', false], 5: [0xff], 6: [0x1ff], 7: [0x3ff], 12: ['icr', false], 14: ['icr'], 15: ['a'],
};

export class Timer {
  /* `layout`: name, bits, register addresses and the vectors of each flag. */
  constructor(cpu, layout, report) {
    this.cpu = cpu;
    this.layout = layout;
    this.report = report;
    this.registers = { a: 0, b: 0, c: 0, icr: 0 };
    this.highByte = 0;
    this.divider = 0;
    this.top = 0;
    this.started = 0; /* the cycle at which the count was 0 */
    this.frozen = 0; /* the count while the timer stands */
    this.looked = 0; /* up to this cycle every flag has been raised */
    const flag = (address, mask) => ({
      address, flagRegister: layout.TIFR, flagMask: mask, enableRegister: layout.TIMSK, enableMask: mask,
    });
    const flags = Object.entries(layout.vectors);
    this.interrupts = Object.fromEntries(flags.map(([name, address]) => [name, flag(address, FLAGS[name])]));
    this.wake = () => {
      this.#raise();
      this.#schedule();
    };
    this.#hook();
  }

  #hook() {
    const { layout } = this;
    this.#onWrite(layout.TCCRA, () => {});
    this.#onWrite(layout.TCCRB, () => {});
    this.#hookCounter();
    for (const [name, address] of Object.entries(layout.compare)) this.#hookWord(address, name);
    this.#hookFlags();
  }

  #onWrite(address, action) {
    this.cpu.writeHooks[address] = (value) => {
      this.cpu.data[address] = value;
      this.#change(() => action(value));
      return true;
    };
  }

  #hookFlags() {
    const { cpu, layout } = this;
    cpu.writeHooks[layout.TIFR] = (value) => {
      for (const interrupt of Object.values(this.interrupts)) cpu.clearInterruptByFlag(interrupt, value);
      return true;
    };
    cpu.readHooks[layout.TIFR] = () => {
      this.#mustBeModelled('its flags are read');
      return cpu.data[layout.TIFR];
    };
    cpu.writeHooks[layout.TIMSK] = (value) => {
      if (value) this.#mustBeModelled('its interrupts are enabled');
      for (const interrupt of Object.values(this.interrupts)) cpu.updateInterruptEnable(interrupt, value);
    };
  }

  /* Sixteen-bit registers are written high byte first, through one register that all of them share. */
  #hookWord(address, name) {
    this.#onWrite(address, (value) => {
      this.registers[name] = (this.highByte << 8) | value;
    });
    this.#hookHighByte(address);
  }

  #hookHighByte(address) {
    if (this.layout.bits !== 16) return;
    this.cpu.writeHooks[address + 1] = (value) => {
      this.highByte = value;
    };
  }

  #hookCounter() {
    const { cpu, layout } = this;
    this.#onWrite(layout.TCNT, (value) => {
      this.frozen = (this.highByte << 8) | value;
    });
    this.#hookHighByte(layout.TCNT);
    cpu.readHooks[layout.TCNT] = () => {
      this.#mustBeModelled('its count is read');
      const count = this.#count(cpu.cycles);
      if (layout.bits === 16) cpu.data[layout.TCNT + 1] = count >> 8;
      return count & 0xff;
    };
  }

  #mode() {
    const { cpu, layout } = this;
    const high = layout.bits === 16 ? 0x18 : 0x08;
    return ((cpu.data[layout.TCCRB] & high) >> 1) | (cpu.data[layout.TCCRA] & 3);
  }

  #mustBeModelled(why) {
    if (!this.known && this.divider) this.report(`${this.layout.name} runs in a mode that is not modelled, and ${why}`);
  }

  #count(cycle) {
    if (!this.divider || !this.known) return this.frozen;
    return Math.floor((cycle - this.started) / this.divider) % (this.top + 1);
  }

  /* Every change of a register: count up to now, change, and count on from there. */
  #change(action) {
    this.#raise();
    this.frozen = this.#count(this.cpu.cycles);
    action();
    const mode = (this.layout.bits === 16 ? MODES_16 : MODES_8)[this.#mode()];
    this.known = mode !== undefined;
    this.divider = DIVIDERS[this.cpu.data[this.layout.TCCRB] & 7];
    const [top, overflows = true] = mode ?? [0];
    this.top = typeof top === 'string' ? this.registers[top] : top;
    this.overflows = overflows;
    this.started = this.cpu.cycles - this.frozen * this.divider;
    this.looked = this.cpu.cycles;
    this.cpu.clearClockEvent(this.wake);
    this.#schedule();
  }

  /* The first cycle after `cycle` at which the count becomes `count`. */
  #reaches(count, cycle) {
    const period = (this.top + 1) * this.divider;
    const first = this.started + count * this.divider;
    return first > cycle ? first : first + (Math.floor((cycle - first) / period) + 1) * period;
  }

  #marks() {
    const marks = [];
    if (this.overflows) marks.push(['overflow', 0]);
    for (const name of Object.keys(this.layout.compare)) {
      if (name !== 'icr' && this.registers[name] <= this.top) marks.push([name, this.registers[name]]);
    }
    return marks;
  }

  #raise() {
    if (!this.known || !this.divider) return;
    for (const [name, count] of this.#marks()) {
      if (this.#reaches(count, this.looked) <= this.cpu.cycles) this.cpu.setInterruptFlag(this.interrupts[name]);
    }
    this.looked = this.cpu.cycles;
  }

  #schedule() {
    if (!this.known || !this.divider) return;
    const next = Math.min(...this.#marks().map(([, count]) => this.#reaches(count, this.cpu.cycles)));
    this.cpu.addClockEvent(this.wake, next - this.cpu.cycles);
  }
}
