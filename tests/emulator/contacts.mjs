/* The console's contacts over time: a list of changes in order of time, applied when somebody looks.
 *
 * Nothing of the console is clocked: a chain input matters at the moment of the parallel load, a pin when it is read, a
 * shoe when the converter samples it, an expander when the bus reads it.  So one cursor is moved forward at those moments, and changes cost nothing else.
 */
import { LETTERS } from './pins.mjs';

export const KINDS = { chain: 0, matrix: 1, port: 2, converter: 3, multiplexer: 4, expander: 5, plug: 6, listen: 7, hold: 8 };

export class Contacts {
  /* `events` is [[cycle, kind, ...], ...] in order of time; each of `listeners` (by kind) takes the three numbers. */
  constructor(events, listeners) {
    this.count = events.length;
    this.cycles = new Float64Array(this.count);
    this.kinds = new Uint8Array(this.count);
    this.values = new Int32Array(this.count * 4);
    this.listeners = Object.entries(KINDS).sort((a, b) => a[1] - b[1]).map(([kind]) => listeners[kind]);
    this.next = 0;
    this.lastApplied = -Infinity;
    events.forEach((event, index) => this.#store(event, index));
  }

  #store([cycle, kind, ...values], index) {
    if (!(kind in KINDS)) {
      throw new Error(`event ${index}: unknown kind '${kind}', allowed ${Object.keys(KINDS).join(', ')}`);
    }
    if (index > 0 && cycle < this.cycles[index - 1]) {
      throw new Error(`event ${index}: cycle ${cycle} lies before the one ahead of it`);
    }
    this.cycles[index] = cycle;
    this.kinds[index] = KINDS[kind];
    this.values.set(values, index * 4);
  }

  /* Apply every change up to and including `cycle`. */
  advance(cycle) {
    while (this.next < this.count && this.cycles[this.next] <= cycle) {
      const at = this.next * 4;
      this.listeners[this.kinds[this.next]](...this.values.subarray(at, at + 4));
      this.lastApplied = this.cycles[this.next];
      this.next += 1;
    }
  }
}

/* The contacts of a console, whose models take the changes. */
export function contactsOf(events, models) {
  return new Contacts(events.map(numberPort), {
    chain: (register, bit, level) => models.chain.setInput(register, bit, level),
    matrix: (matrix, row, column, closed) => models.matrices[matrix].setContact(row, column, closed),
    port: (port, bit, level) => models.pins.setLevel(port, bit, level),
    converter: (channel, counts) => models.shoes.setCounts(channel, counts),
    multiplexer: (bank, input, bit, level) => models.banks[bank].setInput(input, bit, level),
    expander: (expander, pin, level) => models.bus.setPin(expander, pin, level),
    plug: (expander, fitted) => models.bus.plug(expander, fitted),
    listen: (strobe, line, closed) => models.scanner.setContact(strobe, line, closed),
    hold: (clocks) => models.bus.hold(clocks),
  });
}

/* Ports are named by letter in a scenario and counted inside, for events are kept as numbers. */
function numberPort(event) {
  return event[1] === 'port' ? event.with(2, LETTERS.indexOf(event[2])) : event;
}
