// A computer at a chip's USB: finds out what is there as chapter 9 of the USB 2.0 specification has it, opens the serial port as the CDC
// definitions have it, and moves bytes. Whatever breaks a rule is a fault: a reply that is no descriptor, a packet numbered out of turn (8.6),
// a stalled request. Times are the chip's own nanoseconds.
const IN = 0x80, CLASS = 0x21; // bmRequestType
const GET_DESCRIPTOR = 6, SET_ADDRESS = 5, SET_CONFIGURATION = 9, GET_CONFIGURATION = 8;
const SET_LINE_CODING = 0x20, GET_LINE_CODING = 0x21, SET_CONTROL_LINE_STATE = 0x22;
const ADDRESS = 7, PACKET = 64, PACKET_NS = 60e3; // a full-speed bulk packet of 64 bytes takes about so long
const FETCHED_NS = 500e3; // a computer that has other things to do fetches what the chip has for it half a frame later
const CODING = [0x00, 0xc2, 0x01, 0x00, 0, 0, 8]; // 115200 baud, 8N1

const le = (value) => [value & 0xff, (value >> 8) & 0xff];

export class Computer {
  constructor(chip) {
    Object.assign(this, { chip, usb: chip.rp.usbCtrl, state: 'off', descriptors: {}, waiting: [], unread: [], out: null, steps: [], reply: null, pid: {} });
    const { usb } = this;
    usb.onUSBEnabled = () => usb.resetDevice();
    usb.onResetReceived = () => this.begin();
    usb.onEndpointWrite = (endpoint, bytes) => this.heard(endpoint, bytes);
    usb.onEndpointRead = (endpoint, size) => this.mayWrite(endpoint, size);
    const updated = usb.DPRAMUpdated.bind(usb);
    usb.DPRAMUpdated = (offset, value) => {
      this.checkTurn(offset, value);
      updated(offset, value);
    };
    const ready = usb.indicateBufferReady.bind(usb);
    this.fetched = chip.clock.createAlarm(() => ready(this.inEndpoint, false));
    usb.indicateBufferReady = (endpoint, out) => (endpoint === this.inEndpoint && !out ? this.fetched.schedule(FETCHED_NS) : ready(endpoint, out));
    this.sending = chip.clock.createAlarm(() => this.write());
    this.finishing = chip.clock.createAlarm(() => this.finish());
  }

  fault(why) { this.chip.fault(`USB: ${why}`); }

  /** Each endpoint's packets are numbered 0, 1, 0, 1 from the configuration on; a control transfer's data and status begin with 1. */
  checkTurn(offset, value) {
    if (offset < 0x80 || offset > 0xff) return;
    const endpoint = (offset - 0x80) >> 3, out = !!(offset & 4), stall = value & 0x800, available = value & 0x400;
    if (stall) {
      if (!this.step?.stalls) this.fault(`it stalls a request: ${this.asked}`);
      this.stalled[out ? 'out' : 'in'] = this.usb.epStallArm & (out ? 2 : 1);
      if (this.stalled.out && this.stalled.in) this.finishing.schedule(10e3);
    }
    if (!available) return;
    if (!out && !(value & 0x8000)) this.fault(`endpoint ${endpoint} is to send what is not filled`);
    const key = endpoint === 0 ? 'control' : `${endpoint} ${out ? 'out' : 'in'}`, is = (value >> 13) & 1;
    if (endpoint === 0 && out) {
      if (is !== 1) this.fault('the only packet to endpoint 0 is numbered 0');
      return;
    }
    if (is !== (this.pid[key] ?? 0)) this.fault(`a packet of endpoint ${key} is numbered ${is}`);
    this.pid[key] = is ^ 1;
  }

  begin() {
    this.state = 'reset';
    this.pid = {};
    const read = (name, which, length, index = 0) => ({
      setup: [IN, GET_DESCRIPTOR, ...le(which), ...le(index), ...le(length)],
      done: (bytes) => {
        if (bytes[1] !== which >> 8) this.fault(`${name} is none: ${bytes}`);
        this.descriptors[name] = bytes;
      },
    });
    const set = (setup, state, data) => ({ setup: [...setup.slice(0, 6), ...le(data?.length ?? 0)], data, done: () => { if (state) this.state = state; } });
    this.steps = [
      read('device', 0x0100, 64),
      set([0, SET_ADDRESS, ADDRESS, 0, 0, 0], 'addressed'),
      read('device', 0x0100, 18),
      read('head', 0x0200, 9),
      { ...read('configuration', 0x0200, 255), done: (bytes) => this.configured(bytes) },
      { setup: [IN, GET_DESCRIPTOR, ...le(0x0600), 0, 0, 10, 0], stalls: true, done() {} }, // a full-speed device has no qualifier (9.6.2)
      read('languages', 0x0300, 255), read('maker', 0x0301, 255, 0x0409), read('product', 0x0302, 255, 0x0409), read('serial', 0x0303, 255, 0x0409),
      { ...set([0, SET_CONFIGURATION, 1, 0, 0, 0]), done: () => { this.state = 'configured'; } },
      { setup: [IN, GET_CONFIGURATION, 0, 0, 0, 0, 1, 0], done: (bytes) => { if (bytes[0] !== 1) this.fault(`configuration ${bytes}`); } },
      set([CLASS, SET_LINE_CODING, 0, 0, 0, 0], null, CODING),
      { setup: [IN | CLASS, GET_LINE_CODING, 0, 0, 0, 0, 7, 0], done: (bytes) => { if (`${bytes}` !== `${CODING}`) this.fault(`line coding ${bytes}`); } },
      this.terminal(true),
    ];
    this.next();
  }
  terminal(open) {
    return { setup: [CLASS, SET_CONTROL_LINE_STATE, open ? 3 : 0, 0, 0, 0, 0, 0], done: () => { this.state = open ? 'open' : 'configured'; } };
  }
  setTerminal(open) {
    this.steps.push(this.terminal(open));
    if (!this.step) this.next();
  }

  next() {
    this.step = this.steps.shift();
    if (!this.step) return;
    this.reply = [];
    this.stalled = {};
    this.allRead = this.takesStatus = false;
    this.pid.control = 1;
    this.asked = this.step.setup.map((b) => b.toString(16)).join(' ');
    this.usb.sendSetupPacket(Uint8Array.from(this.step.setup));
  }
  finish() {
    const { step } = this;
    this.step = null;
    step.done(this.reply);
    this.next();
  }

  configured(bytes) {
    if (bytes.length !== bytes[2] + 256 * bytes[3]) this.fault(`a configuration of ${bytes.length} bytes says ${bytes[2]}`);
    this.descriptors.configuration = bytes;
    for (let i = 0; i < bytes.length; i += bytes[i]) {
      if (bytes[i] < 2 || i + bytes[i] > bytes.length) this.fault(`descriptors don't follow one another at ${i}`);
      if (bytes[i + 1] === 5 && bytes[i + 3] === 2) this[bytes[i + 2] & IN ? 'inEndpoint' : 'outEndpoint'] = bytes[i + 2] & 15;
    }
  }

  heard(endpoint, bytes) {
    if (endpoint === 0) {
      if (!this.step) return;
      const { setup } = this.step, length = setup[6] + 256 * setup[7];
      if (!(setup[0] & IN)) return this.finish(); // the status stage
      this.reply.push(...bytes);
      if (this.reply.length > length) this.fault(`${this.reply.length} bytes for ${length}`);
      if (bytes.length < PACKET || this.reply.length === length) this.read();
    } else if (endpoint === this.inEndpoint) {
      if (this.state !== 'open') this.fault('it sends though no program listens');
      this.unread.push(...bytes);
      if (bytes.length === PACKET) return; // a program is given what came when a short packet ends it (5.8.3)
      for (const byte of this.unread) this.chip.told(byte, this.chip.global(this.chip.clock.nanos));
      this.unread = [];
    } else this.fault(`endpoint ${endpoint} sends`);
  }

  /** Of a transfer to the computer: its data are there, and its status stage is an empty packet. */
  read() {
    this.allRead = true;
    if (!this.takesStatus) return;
    this.usb.endpointReadDone(0, new Uint8Array(0));
    this.finishing.schedule(20e3); // after it has come
  }

  /** The chip has room for a packet; one comes when there is something to send. */
  mayWrite(endpoint, size) {
    if (endpoint === 0) {
      if (this.step?.data) return this.usb.endpointReadDone(0, Uint8Array.from(this.step.data));
      this.takesStatus = true;
      if (this.allRead) this.read();
      return;
    }
    if (endpoint !== this.outEndpoint && this.state !== 'reset' && this.outEndpoint) this.fault(`endpoint ${endpoint} listens`);
    this.out = size;
    this.later();
  }
  send(bytes) {
    for (const byte of bytes) this.waiting.push(byte);
    this.later();
  }
  later() {
    if (this.out !== null && this.waiting.length > 0 && !this.coming) {
      this.coming = true;
      this.sending.schedule(PACKET_NS);
    }
  }
  write() {
    this.coming = false;
    if (this.state !== 'open') return;
    const bytes = this.waiting.splice(0, Math.min(this.out, PACKET));
    this.out = null;
    this.usb.endpointReadDone(this.outEndpoint, Uint8Array.from(bytes), 0);
  }
}
