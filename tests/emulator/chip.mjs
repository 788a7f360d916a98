/* The ATmega2560 as avr8js has to be told about it: register addresses, interrupt vectors and memory sizes.
 *
 * Source of every address and vector: the ATmega640/1280/1281/2560/2561 data sheet (Atmel 2549), register summary and
 * table of reset and interrupt vectors; vectors are counted in words, two words each.
 *
 * Not modelled: the synchroniser in front of each PIN register.  On the chip a change of a pin is read half a clock to
 * one and a half clocks later (same data sheet, I/O ports, reading the pin value; from memory), here at once: the time
 * from a contact on a pin or a matrix column to its reading comes out about one cycle, 62.5 ns, short.
 */
import {
  ADCMuxInputType, ADCReference, AVRADC, AVRClock, AVRIOPort, AVRSPI, AVRTWI, AVRWatchdog, CPU, clockConfig,
} from 'avr8js';

import { Timer } from './timers.mjs';

export const CLOCK_HZ = 16_000_000;
export const PROGRAM_WORDS = 0x20000;
/* 8 KiB of memory behind 512 bytes of registers; avr8js counts only 256 of those as register space by itself. */
const RAM_FIRST = 0x200;
const RAM_LAST = 0x21ff;
const SRAM_BYTES = RAM_LAST + 1 - 0x100;

export const MCUSR = 0x54;
export const WDTCSR = 0x60;
export const GPIOR0 = 0x3e;
export const RESET_CAUSES = { 'power-on': 0x01, external: 0x02, watchdog: 0x08 };

const PORT_BASES = {
  A: 0x20, B: 0x23, C: 0x26, D: 0x29, E: 0x2c, F: 0x2f, G: 0x32, H: 0x100, J: 0x103, K: 0x106, L: 0x109,
};

/* Port letter -> addresses of its three registers. */
export const PORTS = Object.fromEntries(
  Object.entries(PORT_BASES).map(([letter, base]) => [letter, { PIN: base, DDR: base + 1, PORT: base + 2 }]),
);

const SPI_CONFIG = { spiInterrupt: 0x30, SPCR: 0x4c, SPSR: 0x4d, SPDR: 0x4e };

export const USART1 = {
  udreVector: 0x4a, txcVector: 0x4c,
  UCSRA: 0xc8, UCSRB: 0xc9, UCSRC: 0xca, UBRRL: 0xcc, UBRRH: 0xcd, UDR: 0xce,
};

const TWI_CONFIG = { twiInterrupt: 0x4e, TWBR: 0xb8, TWSR: 0xb9, TWAR: 0xba, TWDR: 0xbb, TWCR: 0xbc, TWAMR: 0xbd };

function sixteenBitTimer(number, base, TIFR, TIMSK, firstVector) {
  const vectors = { a: firstVector + 2, b: firstVector + 4, c: firstVector + 6, overflow: firstVector + 8 };
  const compare = { a: base + 8, b: base + 10, c: base + 12, icr: base + 6 };
  const registers = { TIFR, TIMSK, TCCRA: base, TCCRB: base + 1, TCNT: base + 4 };
  return { name: `timer ${number}`, bits: 16, ...registers, compare, vectors };
}

const TIMERS = [
  {
    name: 'timer 0', bits: 8, TIFR: 0x35, TIMSK: 0x6e, TCCRA: 0x44, TCCRB: 0x45, TCNT: 0x46,
    compare: { a: 0x47, b: 0x48 }, vectors: { a: 0x2a, b: 0x2c, overflow: 0x2e },
  },
  sixteenBitTimer(1, 0x80, 0x36, 0x6f, 0x20),
  sixteenBitTimer(3, 0x90, 0x38, 0x71, 0x3e),
  sixteenBitTimer(4, 0xa0, 0x39, 0x72, 0x52),
  sixteenBitTimer(5, 0x120, 0x3a, 0x73, 0x5c),
];

const singleEnded = (channel) => ({ type: ADCMuxInputType.SingleEnded, channel });
const MUX_CHANNELS = {};
for (let channel = 0; channel < 8; channel += 1) {
  MUX_CHANNELS[channel] = singleEnded(channel);
  MUX_CHANNELS[0x20 + channel] = singleEnded(8 + channel);
}

const CONVERTER_CONFIG = {
  ADMUX: 0x7c, ADCSRA: 0x7a, ADCSRB: 0x7b, ADCL: 0x78, ADCH: 0x79, DIDR0: 0x7e, adcInterrupt: 0x3a,
  numChannels: 16, muxInputMask: 0x3f, muxChannels: MUX_CHANNELS,
  adcReferences: [ADCReference.AREF, ADCReference.AVCC, ADCReference.Internal1V1, ADCReference.Internal2V56],
};

/* Thrown out of the running program when the watchdog bites: the chip then has to be started anew. */
export class Restart extends Error {
  constructor(cause) {
    super(`restart: ${cause}`);
    this.cause = cause;
  }
}

/* One life of the controller, from a reset to the next.  `before` is the chip of the life before: its memory stays. */
export function startChip(program, cause, report, before = null) {
  const cpu = new CPU(program, SRAM_BYTES);
  if (before) {
    cpu.cycles = before.cpu.cycles;
    cpu.data.set(before.cpu.data.subarray(RAM_FIRST), RAM_FIRST);
  }
  cpu.data[MCUSR] = RESET_CAUSES[cause] | (before ? before.cpu.data[MCUSR] : 0);
  const chip = {
    cpu,
    ports: startPorts(cpu),
    spi: new AVRSPI(cpu, SPI_CONFIG, CLOCK_HZ),
    spiControl: SPI_CONFIG.SPCR,
    twi: new AVRTWI(cpu, TWI_CONFIG, CLOCK_HZ),
    timers: TIMERS.map((layout) => new Timer(cpu, layout, report)),
    converter: new AVRADC(cpu, CONVERTER_CONFIG),
  };
  startWatchdog(chip, cause);
  return chip;
}

function startPorts(cpu) {
  const start = ([letter, config]) => [letter, new AVRIOPort(cpu, { ...config, externalInterrupts: [] })];
  return Object.fromEntries(Object.entries(PORTS).map(start));
}

/* After a watchdog reset the watchdog runs on at its shortest time, 16 ms, until the program stops it (data sheet,
 * watchdog timer). */
function startWatchdog(chip, cause) {
  const { cpu } = chip;
  const clock = new AVRClock(cpu, CLOCK_HZ, clockConfig);
  const watchdog = new AVRWatchdog(cpu, { watchdogInterrupt: 0x18, MCUSR, WDTCSR }, clock);
  cpu.reset = () => { throw new Restart('watchdog'); };
  if (cause !== 'watchdog') return;
  cpu.data[WDTCSR] = 0x08;
  watchdog.enabledValue = true;
  watchdog.resetWatchdog();
  watchdog.scheduled = true;
  cpu.addClockEvent(watchdog.checkWatchdog, watchdog.watchdogTimeout - cpu.cycles);
}

/* Program memory from an Intel hex image.  Every line's checksum is verified. */
export function readImage(text) {
  const bytes = new Uint8Array(PROGRAM_WORDS * 2).fill(0xff);
  let base = 0;
  for (const [number, line] of text.split(/\r?\n/).entries()) {
    if (line === '') continue;
    const record = Buffer.from(line.slice(1), 'hex');
    const sum = record.reduce((total, byte) => (total + byte) & 0xff, 0);
    if (line[0] !== ':' || record.length !== record[0] + 5 || sum !== 0) {
      throw new Error(`hex image, line ${number + 1}: not a sound record`);
    }
    const address = record.readUInt16BE(1);
    const data = record.subarray(4, -1);
    if (record[3] === 0) bytes.set(data, base + address);
    else if (record[3] === 2) base = data.readUInt16BE(0) * 16;
    else if (record[3] === 4) base = data.readUInt16BE(0) * 0x10000;
  }
  return new Uint16Array(bytes.buffer);
}
