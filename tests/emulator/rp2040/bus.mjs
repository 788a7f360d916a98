/* Carries the RP2040's two-wire bus 1 to the model of the expanders, each step in the time that it takes.
 *
 * The model speaks as the two-wire interface of an AVR does; this gives it one (`twi`) and answers rp2040js for it.
 */
const FUNCTION_I2C = 3;
const PINS = [14, 15];
const CLOCK_HZ = 125_000_000;

export class BusCarrier {
  constructor(chip, view, report) {
    const { mcu } = chip;
    Object.assign(this, { mcu, report, i2c: mcu.i2c[1] });
    view.twi = this;
    view.cpu.addClockEvent = (done, counts) => mcu.clock.createAlarm(done).schedule(counts * 62.5);
  }

  get sclFrequency() {
    const { i2c } = this;
    return CLOCK_HZ / (i2c.fsClockHighPeriod + i2c.fsClockLowPeriod);
  }

  set eventHandler(model) {
    const { i2c } = this;
    i2c.onStart = (repeated) => {
      this.#checkPins();
      model.start(repeated);
    };
    i2c.onConnect = (address, mode) => model.connectToSlave(address, mode === 0);
    i2c.onWriteByte = (byte) => model.writeByte(byte);
    i2c.onReadByte = () => model.readByte();
    i2c.onStop = () => model.stop();
  }

  #checkPins() {
    for (const pin of PINS) {
      if (this.mcu.gpio[pin].functionSelect !== FUNCTION_I2C) this.report(`the bus is not connected to GP${pin}`);
      if (!this.mcu.gpio[pin].pullupEnabled) this.report(`GP${pin} of the bus has no pull-up`);
    }
  }

  /* What the port had begun when it was switched off is over; rp2040js would go on waiting for its end. */
  giveUp() { this.i2c.completeStop(); }

  completeStart() { this.i2c.completeStart(); }
  completeStop() { this.i2c.completeStop(); }
  completeConnect(acknowledged) { this.i2c.completeConnect(acknowledged); }
  completeWrite(acknowledged) { this.i2c.completeWrite(acknowledged); }
  completeRead(byte) { this.i2c.completeRead(byte); }
}
