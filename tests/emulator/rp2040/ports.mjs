/* The RP2040's pins as ports of eight with three registers each, as the models of the console expect them: PIN (read),
 * DDR (outputs) and PORT (what an output drives, and whether an input is pulled up).
 */
const LETTERS = ['A', 'B', 'C', 'D'];
const GPIO_IN = 4;

export const ADDRESSES = Object.fromEntries(
  LETTERS.map((letter, index) => [letter, { PIN: 3 * index, DDR: 3 * index + 1, PORT: 3 * index + 2 }]),
);

/* What a model takes for a controller. */
export class PortView {
  constructor(chip, now) {
    this.mcu = chip.mcu;
    this.cpu = { data: new Uint8Array(12), readHooks: {}, writeHooks: {}, get cycles() { return now(chip); } };
    this.ports = Object.fromEntries(LETTERS.map((letter) => [letter, this.#port(letter)]));
    this.listeners = [];
    this.#hookReading();
  }

  #port(letter) {
    return { portConfig: ADDRESSES[letter], addListener: (listener) => this.listeners.push(listener) };
  }

  #hookReading() {
    const { sio } = this.mcu;
    const whole = sio.readUint32.bind(sio);
    sio.readUint32 = (offset) => (offset === GPIO_IN ? this.#read() : whole(offset));
  }

  #read() {
    this.#refresh();
    let levels = 0;
    LETTERS.forEach((letter, index) => {
      levels |= this.cpu.readHooks[ADDRESSES[letter].PIN]() << (8 * index);
    });
    return levels >>> 0;
  }

  /* Pins may have moved: brings the registers up to date and tells whoever listens. */
  follow() {
    this.#refresh();
    for (const listener of this.listeners) listener();
  }

  #refresh() {
    const { gpio } = this.mcu;
    this.cpu.data.fill(0);
    gpio.forEach((pin, number) => {
      const at = 3 * (number >> 3);
      const mask = 1 << (number & 7);
      if (pin.outputEnable) this.cpu.data[at + 1] |= mask;
      if (pin.outputEnable ? pin.outputValue : pin.pullupEnabled) this.cpu.data[at + 2] |= mask;
    });
  }
}
