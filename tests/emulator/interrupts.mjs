/* How long each run of one interrupt takes, in cycles from the first instruction at its vector to the end of its return.
 *
 * On the chip three cycles more pass before: the interrupt response takes five (data sheet, interrupt response time,
 * program counter of 22 bits), of which the emulator counts two.
 */
const RETURN_FROM_INTERRUPT = 0x9518;
const NOT_COUNTED = 3;
const RESPONSE = 2;

export class InterruptWatch {
  constructor(vector) {
    this.vector = vector;
    this.durations = [];
    this.began = null;
  }

  /* To be called before each instruction; returns whether it is the one that ends the interrupt. */
  before(cpu) {
    if (cpu.pc === this.vector) this.began = cpu.cycles - RESPONSE - NOT_COUNTED;
    return this.began !== null && cpu.progMem[cpu.pc] === RETURN_FROM_INTERRUPT;
  }

  after(cpu) {
    this.durations.push(cpu.cycles - this.began);
    this.began = null;
  }
}
