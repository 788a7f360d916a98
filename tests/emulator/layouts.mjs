/* Register layouts that several chips share. */

/* Port letter -> addresses of its three registers, which follow one another. */
export function threeRegisters(bases) {
  const registers = ([letter, base]) => [letter, { PIN: base, DDR: base + 1, PORT: base + 2 }];
  return Object.fromEntries(Object.entries(bases).map(registers));
}

export function eightBitTimer(firstVector) {
  return {
    name: 'timer 0', bits: 8, TIFR: 0x35, TIMSK: 0x6e, TCCRA: 0x44, TCCRB: 0x45, TCNT: 0x46,
    compare: { a: 0x47, b: 0x48 }, vectors: { a: firstVector, b: firstVector + 2, overflow: firstVector + 4 },
  };
}

/* `firstVector` is that of the capture event; `base` the address of TCCRnA. */
export function sixteenBitTimer(number, base, TIFR, TIMSK, firstVector) {
  const vectors = { a: firstVector + 2, b: firstVector + 4, c: firstVector + 6, overflow: firstVector + 8 };
  const compare = { a: base + 8, b: base + 10, c: base + 12, icr: base + 6 };
  const registers = { TIFR, TIMSK, TCCRA: base, TCCRB: base + 1, TCNT: base + 4 };
  return { name: `timer ${number}`, bits: 16, ...registers, compare, vectors };
}
