/* A pretended computer at the other end of the USB cable, as the stand-in for the Arduino core shows it (mailbox.h).
 *
 * It takes what waits each millisecond, a frame of full-speed USB, unless it has stopped draining.  The library's store
 * holds 16 packets, its serial port 64 bytes (both as the library's settings for this chip have them; from memory).
 */
import { nanosUntil, now } from './chip.mjs';

const BLOCK = 0x50400;
const FRAME_NANOS = 1_000_000;
const PACKETS = 16;
const SERIAL_BYTES = 64;
const REGISTERS = ['state', 'packetRoom', 'packet', 'packetsHere', 'serialRoom', 'serial', 'serialHere', 'waited', 'committed'];

export class Computer {
  constructor({ actions = [] } = {}, report) {
    Object.assign(this, { actions, report, packets: [], bytes: [], configuredAt: [], detachedAt: [], commits: [] });
  }

  attach(chip) {
    const { mcu } = chip;
    Object.assign(this, {
      chip, clock: mcu.clock, plugged: true, drains: true, suspended: false,
      outgoing: [], serialOut: [], incoming: [], serialIn: [],
    });
    this.configuredAt.push(now(chip));
    this.moment = () => now(chip);
    mcu.peripherals[BLOCK] = {
      readUint32: (offset) => this.#read(REGISTERS[offset / 4]),
      writeUint32Atomic: (offset, value) => this.#write(REGISTERS[offset / 4], value),
    };
    this.frame = mcu.clock.createAlarm(() => this.#frame());
    this.frame.schedule(FRAME_NANOS);
    this.#expect();
  }

  #expect() {
    for (const [moment, kind, value] of this.actions) {
      const nanos = nanosUntil(this.chip, moment);
      if (nanos > 0) this.clock.createAlarm(() => this.#act(kind, value)).schedule(nanos);
    }
  }

  #act(kind, value) {
    if (kind === 'plug') this.#plug(value !== 0);
    else if (kind === 'drain') this.drains = value !== 0;
    else if (kind === 'suspend') this.suspended = value !== 0;
    else if (kind === 'midi') for (let at = 0; at < value.length; at += 4) this.incoming.push(value.slice(at, at + 4));
    else if (kind === 'link') this.serialIn.push(...value);
    else throw new Error(`the computer does not know '${kind}'`);
  }

  #plug(plugged) {
    this.plugged = plugged;
    (plugged ? this.configuredAt : this.detachedAt).push(this.moment());
    if (!plugged) this.outgoing = [];
  }

  #frame() {
    this.frame.schedule(FRAME_NANOS);
    if (!this.plugged || !this.drains || this.suspended) return;
    const taken = this.moment();
    for (const [ready, packet] of this.outgoing.splice(0)) this.packets.push([ready, taken, packet]);
    if (this.serialOut.length) this.bytes.push([taken, this.serialOut.splice(0)]);
  }

  #read(name) {
    switch (name) {
      case 'state': return (this.plugged ? 5 : 0) | (this.suspended ? 2 : 0);
      case 'packetRoom': return PACKETS - this.outgoing.length;
      case 'packet': return Buffer.from(this.incoming.shift()).readUInt32LE();
      case 'packetsHere': return this.incoming.length;
      case 'serialRoom': return SERIAL_BYTES - this.serialOut.length;
      case 'serial': return this.serialIn.shift();
      case 'serialHere': return this.serialIn.length;
      default: throw new Error(`the mailbox's '${name}' is not to be read`);
    }
  }

  #write(name, value) {
    if (name === 'packet') this.outgoing.push([this.moment(), [...Buffer.from(new Uint32Array([value]).buffer)]]);
    else if (name === 'serial') this.serialOut.push(value & 0xff);
    else if (name === 'waited') this.report('the serial port was written to while it had no room');
    else if (name === 'committed') this.commits.push(this.moment());
    else throw new Error(`the mailbox's '${name}' is not to be written`);
  }

  get result() {
    return {
      answers: [], address: 0, packets: this.packets, link: this.bytes, unsent: this.outgoing.length,
      configured_at: this.configuredAt, detached_at: this.detachedAt,
    };
  }
}
