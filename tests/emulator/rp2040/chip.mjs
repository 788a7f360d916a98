/* The RP2040 as rp2040js emulates it, with what that leaves out added: time that a byte takes on the serial ports, the
 * transmitter's store, blocks that are held in reset, and what reset the chip.
 *
 * Sources: RP2040 data sheet, 2.14 (resets), 2.10.9 (chip-level reset), 4.2 (UART), 4.4 (SPI), 4.7 (watchdog).
 *
 * Not modelled: the cache in front of the flash, whose misses cost tens of cycles each on the chip; the second core; and
 * the two cycles by which a pin's level reaches the processor late.  Instructions take what the Cortex-M0+ Technical
 * Reference Manual says (ARM DDI 0484, instruction set summary), reads and writes of peripherals 4 and 5 cycles.
 */
import { RP2040 } from 'rp2040js';

export const CLOCK_HZ = 125_000_000;
const NANOS_PER_CYCLE = 8;
/* Scenarios and results count sixteenths of a microsecond on every board. */
const NANOS_PER_COUNT = 62.5;
const FLASH_START = 0x10000000;
const WATCHDOG = 0x40058;
const RESETS = 0x4000c;
const CHIP_RESET_BLOCK = 0x40064;
const MARKS = 0xd0; /* interpolator 1, base 2: the firmware's marks */
const RESET_CAUSES = { 'power-on': 1 << 8, external: 1 << 16, watchdog: 0 };
const WATCHDOG_TIMER = 1;

/* Block -> its bit in the reset register (data sheet, 2.14.3). */
const BLOCKS = {
  0x40014: ['IO bank', 5], 0x4001c: ['pads', 8], 0x40038: ['UART 1', 23], 0x4003c: ['SPI 0', 16],
  0x40048: ['I2C 1', 4], 0x4004c: ['ADC', 0], 0x40054: ['timer', 21],
};
const ALL_BLOCKS = 0x1ffffff;

/* Thrown out of the running program when the watchdog bites. */
export class Restart extends Error {
  constructor(cause) {
    super(`restart: ${cause}`);
    this.cause = cause;
  }
}

/* One life of the controller.  `before` is the life before: its scratch registers stay, but not through power-on. */
export function startChip(image, cause, report, before = null) {
  const mcu = new RP2040();
  mcu.logger = quietLogger(report);
  const livedNanos = before ? before.livedNanos + before.mcu.clock.nanos : 0;
  const chip = { mcu, livedNanos, onMark: () => {}, onPins: () => {}, instructions: 0, lowestStack: 0xffffffff };
  mcu.flash.set(image);
  startResets(mcu, report);
  startCause(mcu, cause, before?.mcu);
  startMarks(mcu, chip);
  mcu.onBreak = (number) => { throw new Error(`the program stopped at breakpoint ${number}`); };
  mcu.core.VTOR = FLASH_START;
  mcu.core.reset();
  return chip;
}

/* Sixteenths of a microsecond since the first power-on. */
export function now({ mcu, livedNanos }) {
  return (livedNanos + mcu.clock.nanos) / NANOS_PER_COUNT;
}

/* Nanoseconds from now until a moment. */
export function nanosUntil(chip, moment) {
  return (moment - now(chip)) * NANOS_PER_COUNT;
}

/* The data hold time of the bus is not modelled, and says so each time. */
function quietLogger(report) {
  const complain = (name, words) => {
    if (!words.includes('IC_SDA_HOLD')) report(`${name}: ${words}`);
  };
  return { debug() {}, info() {}, warn: complain, error: complain };
}

/* Every block starts in reset; whoever uses one before it is let out is reported. */
function startResets(mcu, report) {
  const resets = mcu.peripherals[RESETS];
  resets.reset = ALL_BLOCKS;
  Object.defineProperty(resets, 'reset_done', { get: () => ~resets.reset & ALL_BLOCKS });
  for (const [block, [name, bit]] of Object.entries(BLOCKS)) {
    const peripheral = mcu.peripherals[block];
    for (const access of ['readUint32', 'writeUint32']) {
      const whole = peripheral[access].bind(peripheral);
      peripheral[access] = (...values) => {
        if (resets.reset & (1 << bit)) report(`${name} is used while it is held in reset`);
        return whole(...values);
      };
    }
  }
}

function startCause(mcu, cause, before) {
  const block = mcu.peripherals[CHIP_RESET_BLOCK];
  block.readUint32 = (offset) => (offset === 8 ? RESET_CAUSES[cause] : 0);
  const watchdog = mcu.peripherals[WATCHDOG];
  watchdog.reason = cause === 'watchdog' ? WATCHDOG_TIMER : 0;
  if (before && cause === 'watchdog') watchdog.scratchData.set(before.peripherals[WATCHDOG].scratchData);
  watchdog.onWatchdogTrigger = () => { throw new Restart('watchdog'); };
}

function startMarks(mcu, chip) {
  const { sio } = mcu;
  const whole = sio.writeUint32.bind(sio);
  sio.writeUint32 = (offset, value) => {
    if (offset === MARKS) chip.onMark(value & 0xff);
    else whole(offset, value);
    chip.onPins();
  };
}

/* Runs until a moment, in sixteenths of a microsecond.  Throws `Restart` when the watchdog bites. */
export function runUntil(chip, moment) {
  const { core, clock } = chip.mcu;
  const limit = moment * NANOS_PER_COUNT - chip.livedNanos;
  while (clock.nanos < limit) {
    clock.tick(core.executeInstruction() * NANOS_PER_CYCLE);
    chip.instructions += 1;
    if (core.SP < chip.lowestStack) chip.lowestStack = core.SP;
  }
}
