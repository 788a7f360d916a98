/* A contact matrix on the controller's own pins: rows driven low one at a time, columns pulled up on one port.
 *
 * Each crossing has a contact and a diode that lets current flow from column to row alone.  A column reads low when a
 * closed contact joins it to a row that is driven low.  Lines are slow: for `settle_cycles` after a row has been driven
 * or let go the columns still show what was there before, so that reading too early is caught.
 *
 * `diodes` changes single crossings, [row, column, "shorted"]: current then flows both ways, and keys may be heard that
 * nobody pressed.
 */
export class Matrix {
  constructor({ rows, column_port: columnPort, columns, settle_cycles: settleCycles = 0, diodes = [], closed = [] }) {
    this.rows = rows.map(({ port, bit }) => ({ port, mask: 1 << bit, driven: false, before: false, since: -Infinity }));
    this.columnPort = columnPort;
    this.columnMask = (1 << columns) - 1;
    this.settleCycles = settleCycles;
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
    const ports = new Set(this.rows.map((row) => row.port));
    for (const port of ports) chip.ports[port].addListener(() => this.#follow(chip, port));
    for (const port of ports) this.#follow(chip, port);
  }

  #follow(chip, port) {
    const { DDR, PORT } = chip.ports[port].portConfig;
    const low = chip.cpu.data[DDR] & ~chip.cpu.data[PORT];
    for (const row of this.rows) {
      if (row.port === port) this.#drive(row, (low & row.mask) !== 0);
    }
  }

  #drive(row, driven) {
    if (driven === row.driven) return;
    row.before = this.#settled(row);
    row.driven = driven;
    row.since = this.cpu.cycles;
  }

  #settled(row) {
    return this.cpu.cycles - row.since >= this.settleCycles ? row.driven : row.before;
  }

  /* Bits of the column port that are pulled low now. */
  lowColumns() {
    let low = 0;
    let lowRows = 0;
    this.rows.forEach((row, index) => {
      if (this.#settled(row)) lowRows |= 1 << index;
    });
    for (let before = -1; before !== low;) {
      before = low;
      this.rows.forEach((row, index) => {
        if (lowRows & (1 << index)) low |= this.closed[index];
        else if (low & this.closed[index] & this.shorted[index]) lowRows |= 1 << index;
      });
    }
    return low & this.columnMask;
  }
}
