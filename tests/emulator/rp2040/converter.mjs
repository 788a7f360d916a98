/* What the converter sees: counts per channel over time.
 *
 * The first conversion after a change of channel returns the channel before, the worst that the hold capacitor can do.
 * A conversion takes 96 periods of 48 MHz (RP2040 data sheet, 4.9.2).
 */
const CONVERSION_NANOS = 2000;
const FIRST_PIN = 26;

export class ShoeVoltages {
  constructor(counts, report) {
    this.counts = new Int32Array(5);
    for (const [channel, value] of Object.entries(counts)) this.counts[channel] = value;
    this.report = report;
    this.held = -1;
    this.conversions = 0;
  }

  setCounts(channel, value) {
    this.counts[channel] = value;
  }

  attach({ mcu }, contacts, now) {
    const done = mcu.clock.createAlarm(() => mcu.adc.completeADCRead(this.sampled, false));
    mcu.adc.onADCRead = (channel) => {
      contacts.advance(now());
      this.conversions += 1;
      const pin = mcu.gpio[FIRST_PIN + channel];
      if (pin.pullupEnabled || pin.pulldownEnabled) this.report('converter pin with a pull-up or pull-down');
      this.sampled = this.counts[this.held < 0 ? channel : this.held];
      this.held = channel;
      done.schedule(CONVERSION_NANOS);
    };
  }
}
