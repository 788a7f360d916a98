/* The USB device controller of the ATmega32U4, as far as its registers show end points and bus events (data sheet, Atmel
 * 7766: USB controller, USB device operating modes).
 *
 * An end point is one or two banks.  The processor fills or empties one, the host the other; handing over is clearing
 * FIFOCON.  A flag is cleared by writing 0 to it.  Not modelled: isochronous end points, stalls of other end points
 * than 0, remote wake-up, and the time for which the PLL has to lock.
 */
const ADDRESSES = {
  PLLCSR: 0x49, USBCON: 0xd8, UDCON: 0xe0, UDINT: 0xe1, UDIEN: 0xe2, UDADDR: 0xe3, UEINTX: 0xe8, UENUM: 0xe9, UERST: 0xea,
  UECONX: 0xeb, UECFG0X: 0xec, UECFG1X: 0xed, UEIENX: 0xf0, UEDATX: 0xf1, UEBCLX: 0xf2,
};
const TXINI = 0x01;
const RXOUTI = 0x04;
const RXSTPI = 0x08;
const RWAL = 0x20;
const FIFOCON = 0x80;
const STALLRQ = 0x20;
const EPEN = 0x01;
const USBE = 0x80;
const FRZCLK = 0x20;
const DETACH = 0x01;
const PLLE = 0x02;
const PLOCK = 0x01;
export const BUS = { suspended: 0x01, frame: 0x04, reset: 0x08, awake: 0x10 };
const END_POINTS = 7;
const MEMORY_BYTES = 832;

class EndPoint {
  constructor() {
    this.enabled = false;
    this.configure(0, 0);
  }

  /* Bit 0 of the first register says which way; the second holds size (8 << n) and banks. */
  configure(type, layout) {
    this.control = (type & 0xc0) === 0;
    this.toHost = (type & 1) !== 0;
    this.size = 8 << ((layout >> 4) & 7);
    this.bankCount = (layout >> 2) & 3 ? 2 : 1;
    this.clear();
  }

  clear() {
    this.filling = []; /* the bank that the processor writes; null while it has none */
    this.sent = []; /* banks that wait for the host, oldest first */
    this.received = []; /* banks from the host, oldest first; the processor empties the first */
    this.setup = false;
    this.stalled = false;
    this.readyAt = [];
  }

  get flags() {
    if (this.control) return this.#controlFlags();
    if (this.toHost) {
      const free = this.filling !== null;
      return free ? TXINI | FIFOCON | (this.filling.length < this.size ? RWAL : 0) : 0;
    }
    if (this.received.length === 0) return 0;
    return RXOUTI | FIFOCON | (this.received[0].length ? RWAL : 0);
  }

  #controlFlags() {
    return (this.setup ? RXSTPI : 0) | (this.filling !== null && !this.setup ? TXINI : 0)
      | (!this.setup && this.received.length ? RXOUTI : 0);
  }

  get count() {
    if (this.toHost || (this.control && this.received.length === 0)) return this.filling?.length ?? 0;
    return this.received[0]?.length ?? 0;
  }

  handOver(cycle) {
    this.sent.push(this.filling);
    this.readyAt.push(cycle);
    this.filling = this.sent.length < this.bankCount ? [] : null;
  }
}

export class UsbDevice {
  /* `notice.attached(yes)` is called when the pull-up comes or goes, `notice.handedOver(number)` for each bank. */
  constructor(cpu, { generalVector, endpointVector }, notice, report) {
    Object.assign(this, { cpu, notice, report, selected: 0, address: 0 });
    this.endPoints = Array.from({ length: END_POINTS }, () => new EndPoint());
    this.types = new Uint8Array(END_POINTS);
    this.enables = new Uint8Array(END_POINTS);
    this.busFlags = 0;
    this.isAttached = false;
    const interrupt = (address) => ({
      address, flagRegister: ADDRESSES.UDINT, flagMask: 0, enableRegister: ADDRESSES.UDIEN, enableMask: 0, constant: true,
    });
    this.general = interrupt(generalVector);
    this.endpoint = interrupt(endpointVector);
    cpu.data[ADDRESSES.USBCON] = FRZCLK;
    cpu.data[ADDRESSES.UDCON] = DETACH;
    this.#hookController();
    this.#hookEndPoints();
  }

  get present() {
    return this.endPoints[this.selected];
  }

  #onWrite(name, action) {
    this.cpu.writeHooks[ADDRESSES[name]] = (value) => {
      this.cpu.data[ADDRESSES[name]] = value;
      action(value);
      this.#raise();
      return true;
    };
  }

  #hookController() {
    const { cpu } = this;
    this.#onWrite('PLLCSR', (value) => {
      cpu.data[ADDRESSES.PLLCSR] = value & PLLE ? value | PLOCK : value & ~PLOCK;
    });
    this.#onWrite('USBCON', () => this.#followPullUp());
    this.#onWrite('UDCON', () => this.#followPullUp());
    this.#onWrite('UDIEN', () => {});
    this.#onWrite('UDADDR', (value) => { this.address = value & 0x80 ? value & 0x7f : 0; });
    this.#onWrite('UDINT', (value) => {
      this.busFlags &= value;
      cpu.data[ADDRESSES.UDINT] = this.busFlags;
    });
  }

  #followPullUp() {
    const { data } = this.cpu;
    const on = (data[ADDRESSES.USBCON] & (USBE | FRZCLK)) === USBE && !(data[ADDRESSES.UDCON] & DETACH);
    if (on === this.isAttached) return;
    this.isAttached = on;
    if (!(data[ADDRESSES.USBCON] & USBE)) this.#forget();
    this.notice.attached(on);
  }

  #forget() {
    this.busFlags = 0;
    this.address = 0;
    this.enables.fill(0);
    for (const endPoint of this.endPoints) endPoint.enabled = false;
  }

  #hookEndPoints() {
    const { cpu } = this;
    this.#onWrite('UENUM', (value) => { this.selected = value & 7; });
    this.#onWrite('UECONX', (value) => {
      this.present.enabled = (value & EPEN) !== 0;
      if (value & STALLRQ) this.present.stalled = true;
    });
    this.#onWrite('UECFG0X', (value) => { this.types[this.selected] = value; });
    this.#onWrite('UECFG1X', (value) => {
      this.present.configure(this.types[this.selected], value);
      this.#checkMemory();
    });
    this.#onWrite('UERST', (value) => {
      this.endPoints.forEach((endPoint, number) => { if (value & (1 << number)) endPoint.clear(); });
    });
    this.#onWrite('UEIENX', (value) => { this.enables[this.selected] = value; });
    this.#onWrite('UEINTX', (value) => this.#acknowledge(value));
    this.#onWrite('UEDATX', (value) => this.#put(value));
    cpu.readHooks[ADDRESSES.UEINTX] = () => this.present.enabled ? this.present.flags : 0;
    cpu.readHooks[ADDRESSES.UEIENX] = () => this.enables[this.selected];
    cpu.readHooks[ADDRESSES.UEBCLX] = () => this.present.enabled ? this.present.count : 0;
    cpu.readHooks[ADDRESSES.UEDATX] = () => this.#take();
  }

  #checkMemory() {
    const used = this.endPoints.filter(({ enabled, size }) => enabled && size);
    const bytes = used.reduce((sum, { size, bankCount }) => sum + size * bankCount, 0);
    if (bytes > MEMORY_BYTES) this.report(`end points take ${bytes} bytes of the ${MEMORY_BYTES} that USB has`);
  }

  /* Acknowledging a setup packet frees the control end point for what follows, whatever is written beside. */
  #acknowledge(value) {
    const { present } = this;
    const had = present.flags;
    if (present.control) {
      if (present.setup && !(value & RXSTPI)) {
        present.clear();
        return;
      }
      if (had & RXOUTI && !(value & RXOUTI)) present.received.shift();
      if (had & TXINI && !(value & TXINI)) this.#handOver();
    } else if (had & FIFOCON && !(value & FIFOCON)) {
      if (present.toHost) this.#handOver();
      else present.received.shift();
    }
  }

  #handOver() {
    this.present.handOver(this.cpu.cycles);
    this.notice.handedOver(this.selected);
  }

  #put(value) {
    const { present } = this;
    if (!present.enabled || present.filling === null || present.filling.length >= present.size) {
      this.report(`a byte was written to end point ${this.selected}, which has no room`);
    } else {
      present.filling.push(value);
    }
  }

  #take() {
    const bank = this.present.received?.[0];
    if (!bank?.length) {
      this.report(`a byte was read from end point ${this.selected}, which holds none`);
      return 0;
    }
    return bank.shift();
  }

  #raise() {
    this.#level(this.general, this.busFlags & this.cpu.data[ADDRESSES.UDIEN]);
    const pending = this.endPoints.some(({ enabled, flags }, number) => enabled && flags & this.enables[number]);
    this.#level(this.endpoint, pending);
  }

  #level(interrupt, on) {
    if (on) this.cpu.queueInterrupt(interrupt);
    else this.cpu.clearInterrupt(interrupt, false);
  }

  /* --- What the host does ------------------------------------------------------------------------------------- */

  busEvent(flag) {
    this.busFlags |= flag;
    this.cpu.data[ADDRESSES.UDINT] = this.busFlags;
    if (flag === BUS.reset) this.address = 0;
    this.#raise();
  }

  /* The host's setup packet is always taken, and ends whatever was under way. */
  setupPacket(bytes) {
    const control = this.endPoints[0];
    if (!control.enabled) return false;
    control.clear();
    control.setup = true;
    control.received = [[...bytes]];
    this.#raise();
    return true;
  }

  get stalled() {
    return this.endPoints[0].stalled;
  }

  /* A packet that waits for the host, with the cycle since when; null when there is none. */
  takeIn(number) {
    const endPoint = this.endPoints[number];
    if (!endPoint.enabled || !endPoint.sent?.length) return null;
    const bytes = endPoint.sent.shift();
    const ready = endPoint.readyAt.shift();
    endPoint.filling ??= [];
    this.#raise();
    return { bytes, ready };
  }

  /* Returns false when the end point has no bank free, as a host that is refused would see it. */
  giveOut(number, bytes) {
    const endPoint = this.endPoints[number];
    if (!endPoint.enabled || endPoint.received.length >= endPoint.bankCount) return false;
    endPoint.received.push([...bytes]);
    this.#raise();
    return true;
  }
}
