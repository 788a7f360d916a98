/* What the analogue converter sees: counts per channel over time.
 *
 * The first conversion after a change of channel returns the channel before: the worst that the hold capacitor, still
 * charged from there, can do.  Firmware has to throw that one away.  Another reference than the supply, or a converter
 * clock above the 200 kHz up to which the data sheet promises full resolution, is reported.
 */
import { ADCReference } from 'avr8js';

import { CLOCK_HZ } from './chip.mjs';

const FULL_RESOLUTION_HZ = 200_000;

export class ShoeVoltages {
  constructor(counts, report) {
    this.counts = new Int32Array(16);
    for (const [channel, value] of Object.entries(counts)) this.counts[channel] = value;
    this.report = report;
    this.held = -1;
    this.conversions = 0;
  }

  setCounts(channel, value) {
    this.counts[channel] = value;
  }

  attach({ cpu, converter }, contacts) {
    converter.onADCRead = (input) => {
      contacts.advance(cpu.cycles);
      this.conversions += 1;
      this.#check(converter);
      const channel = input.channel ?? 0;
      const sampled = this.counts[this.held < 0 ? channel : this.held];
      this.held = channel;
      cpu.addClockEvent(() => converter.completeADCRead(sampled), converter.sampleCycles);
    };
  }

  #check(converter) {
    if (converter.referenceVoltageType !== ADCReference.AVCC) this.report('converter reference is not the supply');
    const hertz = CLOCK_HZ / converter.prescaler;
    if (hertz > FULL_RESOLUTION_HZ) this.report(`converter clock is ${hertz} Hz, allowed ${FULL_RESOLUTION_HZ}`);
  }
}
