/* The levels on the controller's ports: direct contacts, matrix columns, the commons of multiplexers, lines of the
 * organ's own scanner, and what the controller drives itself.
 *
 * Every read of a PIN register comes here.  A contact pulls its pin low when closed and leaves it open otherwise, so
 * the pin needs the pull-up; `driven` bits have both levels driven from outside and need none.  A pin that nothing
 * holds is reported: its level would be chance.
 */
export class Pins {
  /* `addresses`: letter -> {PIN, DDR, PORT}; `ports`: letter -> {levels, contacts, driven}, each a byte. */
  constructor(addresses, ports, matrices, banks, report, scanner = null) {
    this.scanner = scanner;
    this.addresses = addresses;
    this.report = report;
    const perPort = (make) => Object.fromEntries(Object.keys(addresses).map((letter) => [letter, make(letter)]));
    const open = { levels: 0xff, contacts: 0, driven: 0 };
    this.state = perPort((letter) => ({ ...open, ...ports[letter] }));
    this.columns = perPort((letter) => matrices.filter((matrix) => matrix.columnPort === letter));
    this.banks = perPort((letter) => banks.find((bank) => bank.commonPort === letter));
  }

  setLevel(port, bit, level) {
    const state = this.state[LETTERS[port]];
    if (level) state.levels |= 1 << bit;
    else state.levels &= ~(1 << bit);
  }

  /* Something pulls a pin low from outside, or lets go of it. */
  pull([letter, bit], low) {
    const state = this.state[letter];
    const mask = 1 << bit;
    state.contacts = low ? state.contacts | mask : state.contacts & ~mask;
    state.levels = low ? state.levels & ~mask : state.levels | mask;
  }

  attach({ cpu }, contacts) {
    for (const [letter, addresses] of Object.entries(this.addresses)) {
      cpu.readHooks[addresses.PIN] = () => {
        contacts.advance(cpu.cycles);
        return this.#read(letter, cpu.data[addresses.DDR], cpu.data[addresses.PORT]);
      };
    }
  }

  #read(letter, outputs, latch) {
    if (this.banks[letter]) return this.banks[letter].read();
    const { levels, contacts, driven } = this.state[letter];
    let pulledLow = contacts & ~levels;
    let needed = contacts;
    for (const matrix of this.columns[letter]) {
      pulledLow |= matrix.lowColumns();
      needed |= matrix.columnMask;
    }
    const floating = needed & ~pulledLow & ~latch & ~outputs;
    if (floating) this.report(`port ${letter} read while bits ${bitNames(floating)} float: no pull-up`);
    const foreign = this.scanner?.mask(letter) ?? 0;
    const own = (levels & driven) | (latch & ~driven & ~pulledLow);
    const inputs = foreign ? (own & ~foreign) | this.scanner.levels(letter) : own;
    return (inputs & ~outputs) | (latch & outputs);
  }
}

/* How events count the ports of every chip. */
export const LETTERS = [...'ABCDEFGHJKL'];

function bitNames(mask) {
  return [0, 1, 2, 3, 4, 5, 6, 7].filter((bit) => mask & (1 << bit)).join(',');
}
