/* How long scans take, from the marks that the firmware writes to the scratch register GPIOR0.
 *
 * 0xFF begins a scan, run index + 1 begins a run of lanes, 0 ends the scan.  Scans that read the same runs are summed
 * up together, for not every group is due on every tick.  A scan counts as quiet when no contact has changed for
 * `quiet_cycles` and the transmitter was idle throughout: then it takes what a console at rest takes.
 */
import { GPIOR0 } from './chip.mjs';

const BEGIN = 0xff;
const END = 0;
const BUCKET_CYCLES = 160;

class Spread {
  constructor() {
    this.count = 0;
    this.min = Infinity;
    this.max = -Infinity;
    this.sum = 0;
  }

  add(value) {
    this.count += 1;
    this.sum += value;
    if (value < this.min) this.min = value;
    if (value > this.max) this.max = value;
  }

  toJSON() {
    return this.count ? { count: this.count, min: this.min, max: this.max, mean: this.sum / this.count } : { count: 0 };
  }
}

export class ScanMarks {
  constructor({ quiet_cycles: quietCycles, keep_marks: keepMarks }) {
    this.quietCycles = quietCycles;
    this.raw = keepMarks ? [] : null;
    this.cycles = [];
    this.values = [];
    this.lastBegin = null;
    this.quiet = new Map();
    this.all = new Spread();
    this.interval = new Spread();
    this.histogram = [];
    this.longestAt = null;
  }

  attach({ cpu }, contacts, midi) {
    this.contacts = contacts;
    this.midi = midi;
    this.values = [];
    this.lastBegin = null;
    cpu.writeHooks[GPIOR0] = (value) => this.#mark(value, cpu.cycles);
  }

  #mark(value, cycle) {
    if (this.raw) this.raw.push([cycle, value]);
    if (value === BEGIN) this.#begin(cycle);
    this.cycles.push(cycle);
    this.values.push(value);
    if (value === END && this.values[0] === BEGIN) this.#end();
  }

  #begin(cycle) {
    this.cycles = [];
    this.values = [];
    if (this.lastBegin !== null) this.interval.add(cycle - this.lastBegin);
    this.lastBegin = cycle;
    this.busyAtBegin = this.midi.busy;
    this.sentAtBegin = this.midi.bytes.length;
  }

  #end() {
    const total = this.cycles.at(-1) - this.cycles[0];
    if (total > (this.all.count ? this.all.max : -1)) this.longestAt = this.cycles[0];
    this.all.add(total);
    const bucket = Math.floor(total / BUCKET_CYCLES);
    this.histogram[bucket] = (this.histogram[bucket] ?? 0) + 1;
    if (this.#wasQuiet()) this.#addQuiet(total);
    this.values = [];
  }

  #wasQuiet() {
    const sent = this.midi.bytes.length !== this.sentAtBegin || this.busyAtBegin;
    return !sent && this.contacts.lastApplied < this.cycles[0] - this.quietCycles;
  }

  #addQuiet(total) {
    const key = this.values.slice(1, -1).join(' ');
    let shape = this.quiet.get(key);
    if (!shape) {
      shape = { total: new Spread(), lead: new Spread(), runs: this.values.slice(1, -1).map(() => new Spread()) };
      this.quiet.set(key, shape);
    }
    shape.total.add(total);
    shape.lead.add(this.cycles[1] - this.cycles[0]);
    shape.runs.forEach((run, index) => run.add(this.cycles[index + 2] - this.cycles[index + 1]));
  }

  get result() {
    return {
      quiet: Object.fromEntries(this.quiet),
      all: this.all,
      interval: this.interval,
      longest_at: this.longestAt,
      histogram: Object.entries(this.histogram).map(([bucket, count]) => [bucket * BUCKET_CYCLES, count]),
    };
  }
}
