/* A contact matrix on the controller's own pins: rows driven low one at a time, columns pulled up on one port.
 *
 * Each crossing has a contact and a diode that lets current flow from column to row alone.  A column is a node with a
 * capacitance: a held key pulls it down to a row that is low, its pull-up raises it, and so, quicker, does its own pin
 * while that is driven high.  Its voltage follows as one resistor and one capacitor do, so that whoever reads too soon
 * sees what was there before.  It falls from the supply to the greatest low level in `settle_cycles`, rises from 0 to
 * the least high level in `rise_cycles`, and in `charge_cycles` while it is driven.  What is read between the two levels
 * is reported, for it would be chance.  A contact that moves while its row is low counts as having moved when the row
 * went low.
 *
 * `diodes` changes single crossings, [row, column, "shorted"]: current then flows both ways.  Where idle rows float,
 * keys may be heard that nobody pressed; where they are driven high, a low row and a high one meet in the column, which
 * is reported and leaves it between the levels.
 *
 * Levels are those of an ATmega2560 (data sheet: 0.3 and 0.6 of the supply).
 */
const LOW_BELOW = 0.3;
const HIGH_FROM = 0.6;
const ROUNDING = 1e-9;

export class Matrix {
  constructor(order, report) {
    const { rows, column_port: columnPort, columns, diodes = [], closed = [] } = order;
    const { settle_cycles: settle = 0, rise_cycles: rise = settle, charge_cycles: charge = 0 } = order;
    this.rows = rows.map(({ port, bit }) => ({ port, mask: 1 << bit, low: false, high: false }));
    this.columnPort = columnPort;
    this.columnMask = (1 << columns) - 1;
    this.fallTau = settle / -Math.log(LOW_BELOW);
    this.riseTau = rise / -Math.log(1 - HIGH_FROM);
    this.chargeTau = charge / -Math.log(1 - HIGH_FROM);
    this.report = report;
    this.volts = new Float64Array(columns).fill(1);
    this.driven = 0;
    this.since = 0;
    this.closed = new Uint8Array(rows.length);
    this.shorted = new Uint8Array(rows.length);
    for (const [row, column, fault] of diodes) {
      if (fault !== 'shorted') {
        throw new Error(`diode at row ${row}, column ${column}: '${fault}' is no fault, allowed 'shorted'`);
      }
      this.shorted[row] |= 1 << column;
    }
    for (const [row, column] of closed) this.setContact(row, column, 1);
  }

  setContact(row, column, closed) {
    if (closed) this.closed[row] |= 1 << column;
    else this.closed[row] &= ~(1 << column);
  }

  attach(chip) {
    this.cpu = chip.cpu;
    this.since = this.cpu.cycles;
    const ports = new Set([...this.rows.map((row) => row.port), this.columnPort]);
    for (const port of ports) chip.ports[port].addListener(() => this.#follow(chip, port));
    for (const port of ports) this.#follow(chip, port);
  }

  #follow(chip, port) {
    const { DDR, PORT } = chip.ports[port].portConfig;
    const outputs = chip.cpu.data[DDR];
    const latch = chip.cpu.data[PORT];
    this.#settleVolts();
    for (const row of this.rows) {
      if (row.port === port) {
        row.low = (outputs & ~latch & row.mask) !== 0;
        row.high = (outputs & latch & row.mask) !== 0;
      }
    }
    if (port === this.columnPort) {
      this.driven = outputs & this.columnMask;
      if (this.driven & ~latch) this.report('matrix columns are driven low');
    }
    if (this.driven && this.rows.some((row) => row.low)) {
      this.report('matrix columns are driven while a row is low');
    }
  }

  /* Bits of the columns that a low row pulls down, and of those that a row which is high feeds through a short. */
  #pulled() {
    let low = 0;
    let high = 0;
    const lowRows = this.rows.map((row) => row.low);
    for (let before = -1; before !== low;) {
      before = low;
      this.rows.forEach((row, index) => {
        if (lowRows[index]) low |= this.closed[index];
        else if (!row.high && low & this.closed[index] & this.shorted[index]) lowRows[index] = true;
      });
    }
    this.rows.forEach((row, index) => {
      if (row.high) high |= this.closed[index] & this.shorted[index];
    });
    return { low, high };
  }

  #settleVolts() {
    const passed = this.cpu.cycles - this.since;
    const { low, high } = this.#pulled();
    for (let column = 0; column < this.volts.length; column += 1) {
      this.volts[column] = this.#after(column, passed, (low >> column) & 1, (high >> column) & 1);
    }
    this.since = this.cpu.cycles;
  }

  #after(column, passed, low, high) {
    if (low && high) {
      if (passed) this.report('matrix: a low row and a high one meet in a column');
      return (LOW_BELOW + HIGH_FROM) / 2;
    }
    const driven = (this.driven >> column) & 1;
    const target = low ? 0 : 1;
    const tau = low ? this.fallTau : driven ? this.chargeTau : this.riseTau;
    return target + (this.volts[column] - target) * (tau ? Math.exp(-passed / tau) : 0);
  }

  /* Bits of the column port that read low now. */
  lowColumns() {
    this.#settleVolts();
    let low = 0;
    this.volts.forEach((volts, column) => {
      if (volts <= LOW_BELOW + ROUNDING) low |= 1 << column;
      else if (volts < HIGH_FROM - ROUNDING) this.report('matrix column read between its levels: the wait was too short');
    });
    return low;
  }
}
