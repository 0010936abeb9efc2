// One emulated RP2040 that runs the firmware's image, with what the emulator leaves out: a boot ROM, UARTs that take time, blocks
// held in reset, faults, random bits and a watchdog that resets. All by overriding what an instance of it does.
import { createRequire } from 'node:module';
import { Computer } from './usb.mjs';

const require = createRequire(process.env.MIEN_NODE_MODULES + '/');
const { RP2040 } = require('rp2040js');

const CYCLE_NS = 8; // 125 MHz
const FLASH_AT = 0x10000000, RAM_AT = 0x20000000, BOOT2_RUNS_AT = 0x20041f00;
const RAM_SIZE = 264 * 1024;
const GPIOS = 30;
const SECTOR = 4096, PAGE = 256;
const ERASE_NS = 45e6, PROGRAM_NS = 0.4e6; // of a sector, of a page: typical in data sheets of such flash (from memory)

/** What the core does most, and code, stack and data are all in RAM: looked for there first. */
const fromRam = {
  readUint16(address) {
    const offset = address - RAM_AT;
    return offset >= 0 && offset < RAM_SIZE ? this.ram.getUint16(offset, true) : this.rp2040.readUint16(address);
  },
  readUint32(address) {
    const offset = address - RAM_AT;
    return offset >= 0 && offset < RAM_SIZE && (address & 3) === 0 ? this.ram.getUint32(offset, true) : this.rp2040.readUint32(address);
  },
  writeUint32(address, value) {
    const offset = address - RAM_AT;
    if (offset >= 0 && offset < RAM_SIZE && (address & 3) === 0) this.ram.setUint32(offset, value, true);
    else this.rp2040.writeUint32(address, value);
  },
};

/** The parts of an ELF file that are loaded, as { address, bytes }. */
export function segments(elf) {
  const start = elf.readUInt32LE(28), size = elf.readUInt16LE(42), count = elf.readUInt16LE(44);
  const parts = [];
  for (let i = 0; i < count; i++) {
    const at = start + i * size;
    const [type, offset, , physical, length] = [0, 4, 8, 12, 16].map((o) => elf.readUInt32LE(at + o));
    if (type === 1 && length > 0) parts.push({ address: physical, bytes: elf.subarray(offset, offset + length) });
  }
  return parts;
}

/** RP2040 datasheet 2.8.1.3.1. */
function crc32(bytes) {
  let crc = 0xffffffff;
  for (const byte of bytes) {
    crc ^= byte << 24;
    for (let i = 0; i < 8; i++) crc = crc & 0x80000000 ? (crc << 1) ^ 0x04c11db7 : crc << 1;
  }
  return crc >>> 0;
}

/**
 * The serial line of one UART: a holding register and a shifter that takes ten bits' time a byte; one byte of room for what
 * comes in, as the firmware leaves the FIFOs off.
 */
class Line {
  constructor(chip, uart) {
    Object.assign(this, { chip, uart, busy: false, held: null, overruns: 0, overwritten: 0, sent: () => {}, coming: [], next: 0 });
    this.arrival = chip.clock.createAlarm(() => this.arrive());
    this.shifted = chip.clock.createAlarm(() => this.shiftNext());
    uart.onByte = (byte) => this.write(byte);
    uart.checkInterrupts = () => chip.rp.setInterrupt(uart.irq, !!(uart.interruptStatus & uart.interruptMask));
    Object.defineProperty(uart, 'flags', {
      get: () => (uart.rxFIFO.empty ? 0x10 : 0x40) | (this.held === null ? 0x80 : 0x20) | (this.busy ? 0x08 : 0),
    });
  }
  get byteNs() { return 10e9 / this.uart.baudRate; }
  write(byte) {
    if (!this.busy) return this.shift(byte);
    if (this.held !== null) this.overwritten++;
    this.held = byte;
    this.uart.interruptStatus &= ~0x20;
    this.uart.checkInterrupts();
  }
  shift(byte) {
    const { chip, uart } = this;
    this.busy = true;
    this.held = null;
    this.sent(byte, chip.global(chip.clock.nanos + this.byteNs));
    uart.interruptStatus |= 0x20;
    uart.checkInterrupts();
    this.shifted.schedule(this.byteNs);
  }
  shiftNext() {
    this.busy = false;
    if (this.held !== null) this.shift(this.held);
  }
  /** A byte whose last bit arrives at this time of the whole desk. */
  hear(byte, atNs) {
    this.coming.push({ byte, atNs });
    if (this.coming.length - this.next === 1) this.expect();
  }
  expect() {
    const { chip } = this;
    this.arrival.schedule(Math.max(0, chip.local(this.coming[this.next].atNs) - chip.clock.nanos));
  }
  arrive() {
    const { uart } = this;
    const { byte } = this.coming[this.next++];
    if (this.next === this.coming.length) {
      this.coming = [];
      this.next = 0;
    } else this.expect();
    if (!uart.enabled || !uart.rxEnabled) return;
    if (!uart.fifosEnabled && !uart.rxFIFO.empty) this.overruns++;
    else uart.feedByte(byte);
  }
}

export class Chip {
  /** ppm: by how much its crystal runs fast. seed: of its random bits. usb: plugged into a computer. Switched on at bornNs. */
  constructor({ image, ppm = 0, seed = 1, usb = false, bornNs = 0 }) {
    Object.assign(this, { image, usb, rate: 1 + ppm * 1e-6, random: seed, resets: 0, flash: null, stretch: 1 });
    this.pulse = () => {}; // (gpio, riseNs of the desk, width in us of the chip's own crystal)
    this.level = () => {}; // (gpio, high, atNs)
    this.told = () => {}; // over USB: (byte, atNs)
    this.sent = [() => {}, () => {}]; // by UART: (byte, atNs at which its last bit left)
    this.inputs = new Map();
    this.adc = [0, 0, 0, 0, 0];
    this.start(bornNs, 0);
  }

  local(globalNs) { return (globalNs - this.bornNs) * this.rate; }
  global(localNs) { return this.bornNs + localNs / this.rate; }

  start(nowNs, reason) {
    this.bornNs = nowNs;
    const rp = (this.rp = new RP2040());
    this.clock = rp.clock;
    this.core = Object.assign(rp.core, fromRam, { ram: rp.sramView });
    this.rebooting = false;
    this.mapped = true;
    this.changing = null;
    rp.logger = { debug() {}, info() {}, warn: (who, what) => this.complain(who, what), error: (who, what) => this.fault(`${who}: ${what}`) };
    if (this.flash) rp.flash.set(this.flash);
    else for (const { address, bytes } of segments(this.image)) rp.flash.set(bytes, address - FLASH_AT);
    this.flash = rp.flash;
    this.holdBlocks();
    this.catchFaults();
    this.fakeRom();
    this.ring();
    this.watch(reason);
    this.lines = [0, 1].map((n) => {
      const line = new Line(this, rp.uart[n]);
      line.sent = (byte, atNs) => this.sent[n](byte, atNs);
      return line;
    });
    this.computer = this.usb ? new Computer(this) : null;
    this.watchPins();
    rp.adc.channelValues = this.adc;
    for (const [gpio, high] of this.inputs) rp.gpio[gpio].setInputValue(high);
    this.boot();
  }

  /** As the boot ROM does: checks the boot stage, copies it to RAM, runs it. */
  boot() {
    const boot2 = this.rp.flash.slice(0, 256);
    const crc = new DataView(boot2.buffer).getUint32(252, true);
    if (crc32(boot2.subarray(0, 252)) !== crc) this.fault('the boot stage fails its CRC: the chip would stay in its USB loader');
    this.rp.sram.set(boot2, BOOT2_RUNS_AT - RAM_AT);
    this.core.SP = BOOT2_RUNS_AT;
    this.core.PC = BOOT2_RUNS_AT;
    this.core.LR = 0;
  }

  complain(who, what) {
    if (process.env.MIEN_CHIP_LOG) process.stderr.write(`${who}: ${what}\n`);
  }
  fault(why) {
    throw new Error(`${why} (PC ${this.core.PC.toString(16)})`);
  }

  /** A block in reset takes no access; here the firmware fails instead of the access being lost. */
  holdBlocks() {
    const { rp } = this;
    const bit = { 0x4004c: 0, 0x50000: 2, 0x40044: 3, 0x40048: 4, 0x40014: 5, 0x4001c: 8, 0x50200: 10, 0x50300: 11, 0x40028: 12,
      0x4002c: 13, 0x40050: 14, 0x4005c: 15, 0x4003c: 16, 0x40040: 17, 0x40054: 21, 0x40034: 22, 0x40038: 23, 0x50110: 24 };
    const resets = rp.peripherals[0x4000c];
    resets.reset = 0x01ffffff & ~((1 << 6) | (1 << 9) | (1 << 1) | (1 << 18) | (1 << 19));
    Object.defineProperty(resets, 'reset_done', { get: () => ~resets.reset & 0x01ffffff });
    const find = rp.findPeripheral.bind(rp);
    rp.findPeripheral = (address) => {
      const held = bit[(address >>> 14) << 2];
      if (held !== undefined && resets.reset & (1 << held)) this.fault(`access to ${address.toString(16)}, which is held in reset`);
      return find(address);
    };
  }

  catchFaults() {
    const { rp } = this;
    const write = rp.writeUint32.bind(rp);
    rp.writeUint32 = (address, value) => {
      if (address < FLASH_AT || (address >= FLASH_AT && address < 0x14000000 && address >= 0x10000000)) this.fault(`a store to ${address.toString(16)}`);
      write(address, value);
    };
  }

  /**
   * Functions of the boot ROM that the firmware calls: each a breakpoint that acts, then a return. Those that change flash take their time,
   * in which interrupts go on; what they work on is neither old nor new until they are done, should the power fail.
   */
  fakeRom() {
    const { rp, core } = this;
    const LOOKUP = 0x100, TABLE = 0x40, BKPT = 0xbe00, RETURN = 0x4770;
    const calls = ['IF', 'EX', 'RE', 'RP', 'FC', 'CX'];
    const at = (i) => LOOKUP + 4 * (i + 1);
    rp.bootrom[0x14 / 4] = TABLE;
    rp.bootrom[0x18 / 4] = LOOKUP | 1;
    for (let i = -1; i < calls.length; i++) rp.bootrom[at(i) / 4] = ((RETURN << 16) | BKPT | (i + 1)) >>> 0;
    const acts = {
      EX: () => this.map(false),
      RE: (offset, size) => this.change((size / SECTOR) * ERASE_NS,
        () => { for (let i = 0; i < size; i++) rp.flash[offset + i] = (i * 73) ^ (i >> 3); }, // whatever it is, it is not FF yet
        () => rp.flash.fill(0xff, offset, offset + size)),
      RP: (offset, from, size) => this.change((size / PAGE) * PROGRAM_NS,
        () => this.program(offset, from, size / 2),
        () => this.program(offset + size / 2, from + size / 2, size / 2)),
      CX: () => this.map(true),
    };
    rp.onBreak = (code) => {
      const [r0, r1, r2] = core.registers;
      if (code === 0) {
        const found = calls.indexOf(String.fromCharCode(r1 & 0xff, r1 >> 8));
        core.registers[0] = found < 0 ? 0 : at(found) | 1;
      } else if (code <= calls.length) acts[calls[code - 1]]?.(r0, r1, r2);
      else this.fault(`breakpoint ${code}`);
    };
  }

  /** Part of the ROM's work on flash: it comes back to its breakpoint until the time is over. */
  change(ns, begin, end) {
    const { core, clock } = this;
    if (this.mapped) this.fault('flash is changed while it is mapped');
    if (!this.changing) {
      begin();
      const changing = (this.changing = { over: false });
      clock.createAlarm(() => {
        changing.over = true;
        core.waiting = false;
      }).schedule(ns);
    }
    if (this.changing.over) {
      this.changing = null;
      return end();
    }
    core.PC -= 2;
    core.waiting = true;
  }

  program(offset, from, size) {
    const { rp } = this;
    for (let i = 0; i < size; i++) {
      if (rp.flash[offset + i] !== 0xff) this.fault(`flash is written twice at ${(offset + i).toString(16)}`);
      rp.flash[offset + i] = rp.readUint8(from + i);
    }
  }

  /** Between the ROM's EX and CX nothing can be read where flash is mapped, by an interrupt least of all. */
  map(mapped) {
    const { rp } = this;
    this.mapped = mapped;
    for (const name of ['readUint8', 'readUint16', 'readUint32']) {
      delete rp[name];
      if (mapped) continue;
      const read = rp[name].bind(rp);
      rp[name] = (address) => {
        if (address >>> 24 === 0x10) this.fault(`flash is read at ${address.toString(16)} while it is not mapped`);
        return read(address);
      };
    }
  }

  ring() {
    this.rp.peripherals[0x40060] = {
      readUint32: () => {
        this.random = (Math.imul(this.random, 1664525) + 1013904223) >>> 0;
        return this.random >>> 31;
      },
      writeUint32Atomic() {},
    };
  }

  watch(reason) {
    const dog = this.rp.peripherals[0x40058];
    dog.reason = reason;
    dog.onWatchdogTrigger = () => {
      dog.timer.enable = false;
      dog.alarm.enable = false;
      this.rebooting = true;
    };
  }

  watchPins() {
    for (let n = 0; n < GPIOS; n++) {
      let rose = null;
      this.rp.gpio[n].addListener((state) => {
        const high = state === 1, now = this.clock.nanos;
        if (n >= 16) this.level(n, high, this.global(now));
        else if (high) rose = now;
        else if (rose !== null) {
          this.pulse(n, this.global(rose), (now - rose) / 1000);
          rose = null;
        }
      });
    }
  }

  input(gpio, high) {
    this.inputs.set(gpio, high);
    this.rp.gpio[gpio].setInputValue(high);
  }

  /** Held as by a debugger that feeds no watchdog: the processor stands, the rest of the chip goes on. */
  hang() { this.hung = true; }

  restart(nowNs, reason) {
    this.resets++;
    this.hung = false;
    this.start(nowNs, reason);
  }

  /** "stats N overruns0 overruns1 overwritten resets" */
  stats(n) {
    const [up, down] = this.lines;
    return `stats ${n} ${up.overruns} ${down.overruns} ${up.overwritten + down.overwritten} ${this.resets}`;
  }

  /** When it next does anything by itself, in the desk's nanoseconds. */
  nextNs() {
    if (!this.core.waiting && !this.hung) return this.global(this.clock.nanos);
    return this.clock.nextAlarm ? this.global(this.clock.nextAlarm.nanos) : Infinity;
  }

  runTo(globalNs) {
    const { clock, core } = this;
    const end = this.local(globalNs);
    while (clock.nanos < end) {
      if (core.waiting || this.hung) {
        const next = clock.nextAlarm;
        if (!next || next.nanos > end) {
          clock.tick(end - clock.nanos);
          break;
        }
        clock.tick(Math.max(0, next.nanos - clock.nanos));
        if (core.pendingInterrupts & core.enabledInterrupts) core.waiting = false;
      } else {
        const nextNs = clock.nanos + core.executeInstruction() * CYCLE_NS;
        if (clock.nextAlarm && clock.nextAlarm.nanos <= nextNs) clock.tick(nextNs - clock.nanos);
        else clock.nanosCounter = nextNs; // as tick() would
      }
      if (this.rebooting) return this.restart(this.global(clock.nanos), 1);
    }
  }
}
