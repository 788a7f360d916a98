/* The computer at the other end of the USB cable: it enumerates the board by the requests of USB 2.0, chapter 9, takes
 * what the board sends as long as it drains, and sends what a scenario says.
 *
 * Nothing of the board's descriptors is understood here: they are kept as bytes for the tests to read.  Where the end
 * points are is told by the scenario.
 */
import { CLOCK_HZ } from './chip.mjs';
import { BUS, UsbDevice } from './usb_device.mjs';

const CYCLES_PER_MS = CLOCK_HZ / 1000;
const DEBOUNCE_MS = 100; /* USB 2.0, 7.1.7.3 */
const RESET_MS = 10; /* USB 2.0, 7.1.7.5 */
const POLL_CYCLES = CYCLES_PER_MS / 8; /* a host asks several times a frame; common practice, no source */
const PATIENCE_MS = 500; /* for a request without data; USB 2.0, 9.2.6.4 */
const TO_HOST = 0x80;
const GET_DESCRIPTOR = 6;
const SET_ADDRESS = 5;
const SET_CONFIGURATION = 9;
const DESCRIPTORS = { device: 1, configuration: 2, string: 3 };

const request = (type, number, value, index, length) => [
  type, number, value & 0xff, value >> 8, index & 0xff, index >> 8, length & 0xff, length >> 8,
];
const descriptor = (kind, index, length, language = 0) => (
  request(TO_HOST, GET_DESCRIPTOR, (DESCRIPTORS[kind] << 8) | index, language, length)
);

export class UsbHost {
  /* `order`: {midi_in, midi_out, link_in, link_out: end points; actions: [[cycle, kind, ...], ...] in order}.  Kinds are
   * plug 0 or 1, drain 0 or 1, suspend 0 or 1, midi BYTES, link BYTES and setup PACKET DATA. */
  constructor(order, report) {
    this.order = order;
    this.report = report;
    this.plugged = true;
    this.draining = true;
    this.suspended = false;
    this.configured = false;
    this.nextAction = 0;
    this.outQueue = [];
    this.requests = [];
    this.answers = [];
    this.packets = [];
    this.linkBytes = [];
    this.configuredAt = [];
    this.detachedAt = [];
  }

  attach(chip) {
    this.cpu = chip.cpu;
    this.configured = false;
    this.talk = null;
    this.requests = [];
    this.device = new UsbDevice(chip.cpu, chip.layout.usb, {
      attached: (on) => this.#attached(on),
      handedOver: () => {},
    }, this.report);
    this.#wake();
  }

  #attached(on) {
    if (on) {
      this.attachedSince = this.cpu.cycles;
      return;
    }
    this.detachedAt.push(this.cpu.cycles);
    this.configured = false;
    this.talk = null;
    this.attachedSince = undefined;
  }

  #wake() {
    this.cpu.addClockEvent(() => {
      this.#act();
      this.#step();
      this.#wake();
    }, POLL_CYCLES - (this.cpu.cycles % POLL_CYCLES));
  }

  #act() {
    const { actions } = this.order;
    while (this.nextAction < actions.length && actions[this.nextAction][0] <= this.cpu.cycles) {
      const [, kind, ...values] = actions[this.nextAction];
      this.nextAction += 1;
      this.#do(kind, values);
    }
  }

  #do(kind, [value, data]) {
    if (kind === 'drain') this.draining = value !== 0;
    else if (kind === 'suspend') this.#suspend(value !== 0);
    else if (kind === 'plug') this.#plug(value !== 0);
    else if (kind === 'midi') this.outQueue.push([this.order.midi_out, value]);
    else if (kind === 'link') this.outQueue.push([this.order.link_out, value]);
    else if (kind === 'setup') this.requests.push([value, data ?? []]);
    else throw new Error(`the USB host knows no action '${kind}'`);
  }

  #suspend(on) {
    this.suspended = on;
    this.device.busEvent(on ? BUS.suspended : BUS.awake);
  }

  /* Without a cable the bus stands idle, which the board sees as a suspended one. */
  #plug(on) {
    this.plugged = on;
    this.configured = false;
    this.talk = null;
    if (on) this.attachedSince = this.cpu.cycles;
    else this.device.busEvent(BUS.suspended);
  }

  #step() {
    if (!this.plugged || this.suspended || !this.device.isAttached) return;
    if (!this.talk) this.#beginTalk();
    else if (this.talk.next().done) this.talk = null;
    if (this.configured && this.draining) this.#drain();
    if (this.configured) this.#send();
  }

  #beginTalk() {
    if (!this.configured) {
      if (this.cpu.cycles - this.attachedSince >= DEBOUNCE_MS * CYCLES_PER_MS) this.talk = this.#enumerate();
    } else if (this.requests.length) {
      this.talk = this.#transfer(...this.requests.shift());
    }
  }

  #drain() {
    for (let packet = this.device.takeIn(this.order.midi_in); packet; packet = this.device.takeIn(this.order.midi_in)) {
      this.packets.push([packet.ready, this.cpu.cycles, packet.bytes]);
    }
    const link = this.device.takeIn(this.order.link_in);
    if (link) this.linkBytes.push([this.cpu.cycles, link.bytes]);
  }

  #send() {
    if (this.outQueue.length && this.device.giveOut(...this.outQueue[0])) this.outQueue.shift();
  }

  * #wait(milliseconds) {
    const end = this.cpu.cycles + milliseconds * CYCLES_PER_MS;
    while (this.cpu.cycles < end) yield;
  }

  * #enumerate() {
    this.device.busEvent(BUS.reset);
    this.device.busEvent(BUS.awake);
    yield* this.#wait(RESET_MS);
    yield* this.#transfer(descriptor('device', 0, 64));
    yield* this.#transfer(request(0, SET_ADDRESS, 5, 0, 0));
    yield* this.#wait(2); /* USB 2.0, 9.2.6.3 */
    yield* this.#transfer(descriptor('device', 0, 18));
    const head = yield* this.#transfer(descriptor('configuration', 0, 9));
    yield* this.#transfer(descriptor('configuration', 0, head[2] | (head[3] << 8)));
    for (const index of [0, 1, 2, 3]) yield* this.#transfer(descriptor('string', index, 255, index ? 0x0409 : 0));
    yield* this.#transfer(request(0, SET_CONFIGURATION, 1, 0, 0));
    this.configured = true;
    this.configuredAt.push(this.cpu.cycles);
  }

  /* One control transfer: setup, data either way, status the other way (USB 2.0, 8.5.3).  Returns the data. */
  * #transfer(packet, data = []) {
    const answer = { request: packet, data: [], stalled: false };
    this.answers.push(answer);
    const length = packet[6] | (packet[7] << 8);
    if (!this.device.setupPacket(packet)) {
      this.report('the board does not take a setup packet');
      return [];
    }
    yield;
    if (packet[0] & TO_HOST) {
      yield* this.#takeData(answer, length);
      if (!answer.stalled) this.device.giveOut(0, []);
    } else {
      if (length) yield* this.#giveData(data);
      yield* this.#takeData(answer, 1);
    }
    yield;
    return answer.data;
  }

  * #takeData(answer, length) {
    const end = this.cpu.cycles + PATIENCE_MS * CYCLES_PER_MS;
    while (answer.data.length < length && this.cpu.cycles < end) {
      if (this.device.stalled) {
        answer.stalled = true;
        return;
      }
      const bank = this.device.takeIn(0);
      if (bank) {
        answer.data.push(...bank.bytes);
        if (bank.bytes.length < 64) return;
      }
      yield;
    }
    if (answer.data.length < length) this.report(`request ${answer.request} was not answered`);
  }

  * #giveData(data) {
    this.device.endPoints[0].sent.length = 0; /* nobody has asked for what the board has laid ready before */
    this.device.endPoints[0].readyAt.length = 0;
    this.device.endPoints[0].filling ??= [];
    this.device.giveOut(0, data);
    yield;
    yield;
  }

  get result() {
    return {
      answers: this.answers,
      address: this.device.address,
      packets: this.packets,
      link: this.linkBytes,
      configured_at: this.configuredAt,
      detached_at: this.detachedAt,
      unsent: this.outQueue.length,
    };
  }
}
