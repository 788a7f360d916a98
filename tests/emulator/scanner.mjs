/* A keyboard that the organ scans by itself: its strobes come one after the other at its own pace, and while one is
 * active each return shows the key where the two meet.
 *
 * Our controller only listens: a pin of it that is an output, or has its pull-up on, would feed the organ's lines, and is
 * reported.  A return is a node with a capacitance behind a resistor: its slower edge takes `settle_cycles` to the level
 * of the input; what is read between the levels is reported.  Strobes begin up to `jitter_cycles` early or late, drawn
 * from `seed`.  While the organ is `off`, pairs of cycles, no strobe comes and every line rests.  `extra` are strobes out
 * of turn, [cycle, strobe, cycles long].
 */
const LOW_BELOW = 0.3;
const HIGH_FROM = 0.6;
const MOST_SLOTS = 1e8; /* an organ that is off for good has no next strobe */

export class Scanner {
  constructor(order, report) {
    this.order = order;
    this.report = report;
    this.closed = order.strobes.map(() => 0);
    this.tau = order.settle_cycles / -Math.log(LOW_BELOW);
    this.volts = new Float64Array(order.returns.length);
    this.active = 0;
    this.since = 0;
    this.begun = null;
    this.strobesSeen = 0;
    this.latestCheck = 0;
    this.edges = [];
    this.outOfTurn = order.extra
      .flatMap(([cycle, strobe, long]) => [[cycle, 1 << strobe, true], [cycle + long, 1 << strobe, false]])
      .sort((a, b) => a[0] - b[0]);
    this.slot = 0;
    this.random = draw(order.seed);
    this.masks = {};
    for (const { port, bit } of [...order.strobes, ...order.returns]) {
      this.masks[port] = (this.masks[port] ?? 0) | (1 << bit);
    }
  }

  setContact(strobe, line, closed) {
    if (closed) this.closed[strobe] |= 1 << line;
    else this.closed[strobe] &= ~(1 << line);
  }

  attach(chip, contacts) {
    this.chip = chip;
    this.contacts = contacts;
    for (const [port, mask] of Object.entries(this.masks)) {
      chip.ports[port].addListener(() => this.#lookForFeeding(port, mask));
    }
    for (let index = 0; index < this.order.strobes.length; index += 1) this.#show(index);
    this.#scheduleNext();
  }

  #lookForFeeding(port, mask) {
    const { DDR, PORT } = this.chip.ports[port].portConfig;
    const fed = (this.chip.cpu.data[DDR] | this.chip.cpu.data[PORT]) & mask;
    if (fed) this.report(`port ${port} feeds lines of the organ that are only listened to`);
  }

  /* Edges are made slot by slot, a strobe each; they are kept in order of time. */
  #edgesAhead() {
    const { strobes, period_cycles: period, width_cycles: width, jitter_cycles: jitter } = this.order;
    while (this.edges.length < 4) {
      const start = ((this.slot + 1) * period) / strobes.length + (2 * this.random() - 1) * jitter;
      const bit = 1 << this.slot % strobes.length;
      if (!this.#isOff(start)) this.edges.push([start, bit, true], [start + width, bit, false]);
      this.slot += 1;
      if (this.slot > MOST_SLOTS) break;
    }
    this.edges.sort((a, b) => a[0] - b[0]);
  }

  /* The list of edges that goes on with the next one; null when both have ended. */
  #nextEdges() {
    const lists = [this.edges, this.outOfTurn].filter((edges) => edges.length > 0);
    return lists.sort((a, b) => a[0][0] - b[0][0])[0] ?? null;
  }

  #isOff(cycle) {
    return this.order.off.some(([from, until]) => cycle >= from && cycle < until);
  }

  #scheduleNext() {
    this.#edgesAhead();
    const next = this.#nextEdges();
    if (next === null) return;
    const { cpu } = this.chip;
    cpu.addClockEvent(() => this.#step(next), Math.max(1, Math.round(next[0][0]) - cpu.cycles));
  }

  #step(edges) {
    const [, bit, on] = edges.shift();
    this.contacts.advance(this.chip.cpu.cycles);
    this.#settleVolts();
    this.active = on ? this.active | bit : this.active & ~bit;
    this.begun = on ? this.chip.cpu.cycles : null;
    if (on) this.strobesSeen += 1;
    this.#show(Math.log2(bit));
    this.#scheduleNext();
  }

  #show(strobe) {
    const { port, bit } = this.order.strobes[strobe];
    this.chip.ports[port].setPin(bit, this.#strobeLevel(strobe) === 1);
  }

  #strobeLevel(strobe) {
    return ((this.active >> strobe) & 1) ^ (this.order.active_low ? 1 : 0);
  }

  #settleVolts() {
    const { cpu } = this.chip;
    const passed = cpu.cycles - this.since;
    let keyed = 0;
    this.closed.forEach((closed, strobe) => {
      if ((this.active >> strobe) & 1) keyed |= closed;
    });
    this.volts.forEach((volts, line) => {
      const target = (keyed >> line) & 1;
      this.volts[line] = target + (volts - target) * (this.tau ? Math.exp(-passed / this.tau) : 0);
    });
    this.since = cpu.cycles;
  }

  /* Bits of a port that belong to the organ. */
  mask(letter) {
    return this.masks[letter] ?? 0;
  }

  /* Their levels now, as the port reads them. */
  levels(letter) {
    this.#settleVolts();
    if (this.begun !== null && letter === this.order.strobes[0].port) {
      this.latestCheck = Math.max(this.latestCheck, this.chip.cpu.cycles - this.begun);
    }
    let levels = 0;
    this.order.strobes.forEach(({ port, bit }, strobe) => {
      if (port === letter) levels |= this.#strobeLevel(strobe) << bit;
    });
    this.order.returns.forEach(({ port, bit }, line) => {
      if (port === letter) levels |= this.#returnLevel(line) << bit;
    });
    return levels;
  }

  /* `latest_check` is the most cycles from the beginning of a strobe to our last look at the strobes within it. */
  get result() {
    return { strobes: this.strobesSeen, latest_check: this.latestCheck };
  }

  #returnLevel(line) {
    const volts = this.volts[line];
    const keyed = volts >= HIGH_FROM ? 1 : 0;
    if (volts > LOW_BELOW && volts < HIGH_FROM) this.report('return read between its levels: the wait was too short');
    return this.order.keyed_high ? keyed : 1 - keyed;
  }
}

/* Numbers from 0 to 1, the same for the same seed (mulberry32, public domain). */
function draw(seed) {
  let state = seed >>> 0;
  return () => {
    state = (state + 0x6d2b79f5) >>> 0;
    let mixed = Math.imul(state ^ (state >>> 15), state | 1);
    mixed ^= mixed + Math.imul(mixed ^ (mixed >>> 7), mixed | 61);
    return ((mixed ^ (mixed >>> 14)) >>> 0) / 4294967296;
  };
}
