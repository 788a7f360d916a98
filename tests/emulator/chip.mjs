/* One controller as avr8js has to be told about it, by the description of its chip.
 *
 * Not modelled: the synchroniser in front of each PIN register.  On the chip a change of a pin is read half a clock to
 * one and a half clocks later (ATmega2560 data sheet, I/O ports, reading the pin value; from memory), here at once: the
 * time from a contact on a pin or a matrix column to its reading comes out about one cycle, 62.5 ns, short.
 */
import {
  AVRADC, AVRClock, AVREEPROM, AVRIOPort, AVRSPI, AVRTWI, AVRWatchdog, CPU, EEPROMMemoryBackend, clockConfig,
} from 'avr8js';

import { ATMEGA2560 } from './atmega2560.mjs';
import { ATMEGA32U4 } from './atmega32u4.mjs';
import { Timer } from './timers.mjs';

export const CHIPS = { atmega2560: ATMEGA2560, atmega32u4: ATMEGA32U4 };
export const CLOCK_HZ = 16_000_000;
export const GPIOR0 = 0x3e;
/* avr8js counts so many bytes as register space by itself. */
const REGISTER_SPACE = 0x100;
const ERASE_CYCLES = 28_800; /* 1.8 ms each way (data sheets, EEPROM programming time) */

const MCUSR = 0x54;
const WDTCSR = 0x60;
const RESET_CAUSES = { 'power-on': 0x01, external: 0x02, 'brown-out': 0x04, watchdog: 0x08 };

/* Thrown out of the running program when the watchdog bites: the chip then has to be started anew. */
export class Restart extends Error {
  constructor(cause) {
    super(`restart: ${cause}`);
    this.cause = cause;
  }
}

/* One life of the controller, from a reset to the next.  `before` is the chip of the life before: its memory stays,
 * unless the supply was away. */
export function startChip(layout, program, cause, report, before = null) {
  const cpu = new CPU(program, layout.ramLast + 1 - REGISTER_SPACE);
  if (before) {
    cpu.cycles = before.cpu.cycles;
    if (cause !== 'power-on') cpu.data.set(before.cpu.data.subarray(layout.ramFirst), layout.ramFirst);
  }
  cpu.data[MCUSR] = RESET_CAUSES[cause] | (before && cause !== 'power-on' ? before.cpu.data[MCUSR] : 0);
  const chip = {
    cpu,
    layout,
    ports: startPorts(cpu, layout),
    spi: new AVRSPI(cpu, layout.spi, CLOCK_HZ),
    spiControl: layout.spi.SPCR,
    twi: new AVRTWI(cpu, layout.twi, CLOCK_HZ),
    timers: layout.timers.map((timer) => new Timer(cpu, timer, report)),
    converter: new AVRADC(cpu, layout.converter),
    store: before?.store ?? new EEPROMMemoryBackend(layout.eepromBytes),
  };
  moveMuxBit(cpu, layout, report);
  startStore(chip);
  startWatchdog(chip, cause);
  return chip;
}

function startPorts(cpu, layout) {
  const start = ([letter, config]) => [letter, new AVRIOPort(cpu, { ...config, pinChange: layout.pinChange?.[letter], externalInterrupts: [] })];
  return Object.fromEntries(Object.entries(layout.ports).map(start));
}

/* avr8js takes the sixth bit of the converter's channel from bit 3 of ADCSRB, where a chip may have it elsewhere. */
function moveMuxBit(cpu, { converter, sixthMuxBit }, report) {
  if (!sixthMuxBit) return;
  cpu.writeHooks[converter.ADCSRB] = (value) => {
    if (value & 0x08) report('the converter is triggered by a timer, which is not modelled');
    cpu.data[converter.ADCSRB] = value & sixthMuxBit ? value | 0x08 : value & ~0x08;
    return true;
  };
}

function startStore({ cpu, layout, store }) {
  new AVREEPROM(cpu, store, { ...layout.eeprom, eraseCycles: ERASE_CYCLES, writeCycles: ERASE_CYCLES });
}

/* After a watchdog reset the watchdog runs on at its shortest time, 16 ms, until the program stops it (data sheet,
 * watchdog timer). */
function startWatchdog(chip, cause) {
  const { cpu, layout } = chip;
  const clock = new AVRClock(cpu, CLOCK_HZ, clockConfig);
  const watchdog = new AVRWatchdog(cpu, { watchdogInterrupt: layout.watchdogVector, MCUSR, WDTCSR }, clock);
  cpu.reset = () => { throw new Restart('watchdog'); };
  if (cause !== 'watchdog') return;
  cpu.data[WDTCSR] = 0x08;
  watchdog.enabledValue = true;
  watchdog.resetWatchdog();
  watchdog.scheduled = true;
  cpu.addClockEvent(watchdog.checkWatchdog, watchdog.watchdogTimeout - cpu.cycles);
}

/* Program memory from an Intel hex image.  Every line's checksum is verified. */
export function readImage(text, { programWords }) {
  const bytes = new Uint8Array(programWords * 2).fill(0xff);
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
