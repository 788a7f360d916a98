/* A bank of multiplexers: up to eight, their select lines joined, each with its common on one bit of a port.
 *
 * A common is a node with a capacitance: a resistor pulls it up, and the input that is selected, when it is low, pulls
 * it down through the switch's own resistance.  Its voltage follows both as one resistor and one capacitor do, so that
 * whoever reads too soon after a change of the selected input sees the one before.  Rising from 0 to the least high
 * level takes `settle_cycles`.  Below the greatest low level it reads low, above the least high level it reads high;
 * what is read in between is reported, for it would be chance.  A contact that moves while its input is selected counts
 * as having moved when the input was selected.
 *
 * Levels are those of an ATmega2560 (data sheet: 0.3 and 0.6 of the supply).
 */
const LOW_BELOW = 0.3;
const HIGH_FROM = 0.6;
const ROUNDING = 1e-9;

export class MultiplexerBank {
  /* `on_share` is the switch's resistance as a part of the pull-up's. */
  constructor({ common_port: commonPort, select, levels, settle_cycles: settleCycles, on_share: onShare }, report) {
    this.commonPort = commonPort;
    this.select = select.map(({ port, bit }) => ({ port, mask: 1 << bit }));
    this.levels = Uint8Array.from(levels);
    this.riseCycles = settleCycles / -Math.log(1 - HIGH_FROM);
    this.onShare = onShare;
    this.report = report;
    this.volts = new Float64Array(8).fill(1);
    this.selected = 0;
    this.since = 0;
  }

  setInput(input, bit, level) {
    if (level) this.levels[input] |= 1 << bit;
    else this.levels[input] &= ~(1 << bit);
  }

  attach(chip) {
    this.cpu = chip.cpu;
    const ports = new Set(this.select.map((line) => line.port));
    for (const port of ports) chip.ports[port].addListener(() => this.#follow(chip));
    this.#follow(chip);
  }

  /* Select lines that are no outputs yet are pulled up or float: the input that they select is unknown, and 0 here. */
  #follow(chip) {
    let selected = 0;
    this.driven = true;
    this.select.forEach(({ port, mask }, line) => {
      const { DDR, PORT } = chip.ports[port].portConfig;
      if (!(chip.cpu.data[DDR] & mask)) this.driven = false;
      if (chip.cpu.data[PORT] & mask) selected |= 1 << line;
    });
    if (selected === this.selected) return;
    for (let bit = 0; bit < 8; bit += 1) this.volts[bit] = this.#voltage(bit);
    this.selected = selected;
    this.since = this.cpu.cycles;
  }

  /* Of the common of one multiplexer, as a part of the supply. */
  #voltage(bit) {
    const high = (this.levels[this.selected] >> bit) & 1;
    const target = high ? 1 : this.onShare / (1 + this.onShare);
    const tau = high ? this.riseCycles : (this.riseCycles * this.onShare) / (1 + this.onShare);
    const passed = this.cpu.cycles - this.since;
    return target + (this.volts[bit] - target) * (tau ? Math.exp(-passed / tau) : 0);
  }

  /* The byte of commons as the port reads it. */
  read() {
    if (!this.driven) this.report('multiplexer commons read while select lines are no outputs');
    let byte = 0;
    for (let bit = 0; bit < 8; bit += 1) {
      const volts = this.#voltage(bit);
      if (volts >= HIGH_FROM - ROUNDING) byte |= 1 << bit;
      else if (volts > LOW_BELOW) this.report('multiplexer common read between its levels: the wait was too short');
    }
    return byte;
  }
}
