/* What the analogue converter sees: counts per channel over time.
 *
 * The first conversion after a change of channel returns the channel before: the worst that the hold capacitor, still
 * charged from there, can do.  Firmware has to throw that one away.  Another reference than the supply, a converter
 * clock above the 200 kHz up to which the data sheet promises full resolution, or a pin that is pulled up or driven while
 * it is converted, is reported.
 */
import { ADCReference } from 'avr8js';

import { CLOCK_HZ } from './chip.mjs';

const FULL_RESOLUTION_HZ = 200_000;
const FULL_SCALE = 1023;

/* A track that is noisy or worn: readings wander by `noise` counts peak to peak, and once in `leap_every` conversions
 * the wiper lifts off and reads `leap_counts` instead.  Chance is a generator of its own (Marsaglia, Xorshift RNGs,
 * Journal of Statistical Software 8(14), 2003: shifts 13, 17, 5), so that every run is the same. */
class Track {
  constructor({ noise, leap_every: leapEvery, leap_counts: leapCounts, seed }) {
    Object.assign(this, { noise, leapEvery, leapCounts, state: seed });
  }

  worn(counts) {
    if (this.leapEvery && this.#chance(this.leapEvery) === 0) return this.leapCounts;
    const wander = this.noise ? this.#chance(this.noise + 1) - Math.floor(this.noise / 2) : 0;
    return Math.min(FULL_SCALE, Math.max(0, counts + wander));
  }

  #chance(below) {
    this.state ^= this.state << 13;
    this.state ^= this.state >>> 17;
    this.state ^= this.state << 5;
    return (this.state >>> 0) % below;
  }
}

export class ShoeVoltages {
  constructor(counts, report, tracks = {}) {
    this.counts = new Int32Array(16);
    for (const [channel, value] of Object.entries(counts)) this.counts[channel] = value;
    this.report = report;
    this.tracks = new Map(Object.entries(tracks).map(([channel, track]) => [Number(channel), new Track(track)]));
    this.held = -1;
    this.conversions = 0;
  }

  setCounts(channel, value) {
    this.counts[channel] = value;
  }

  attach({ cpu, converter, layout }, contacts) {
    converter.onADCRead = (input) => {
      contacts.advance(cpu.cycles);
      this.conversions += 1;
      this.#check(converter);
      const channel = input.channel ?? 0;
      this.#checkPin(cpu, layout, channel);
      const sampled = this.#sampled(this.held < 0 ? channel : this.held);
      this.held = channel;
      cpu.addClockEvent(() => converter.completeADCRead(sampled), converter.sampleCycles);
    };
  }

  #sampled(channel) {
    const track = this.tracks.get(channel);
    return track ? track.worn(this.counts[channel]) : this.counts[channel];
  }

  #check(converter) {
    if (converter.referenceVoltageType !== ADCReference.AVCC) this.report('converter reference is not the supply');
    const hertz = CLOCK_HZ / converter.prescaler;
    if (hertz > FULL_RESOLUTION_HZ) this.report(`converter clock is ${hertz} Hz, allowed ${FULL_RESOLUTION_HZ}`);
  }

  #checkPin(cpu, { ports, converterPins }, channel) {
    const [letter, bit] = converterPins[channel];
    const { PORT, DDR } = ports[letter];
    if ((cpu.data[PORT] | cpu.data[DDR]) & (1 << bit)) this.report(`converter channel ${channel}: its pin is pulled up or driven`);
  }
}
