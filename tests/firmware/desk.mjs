// Several emulated boards, the cables between them, and the host's cable. Time moves only by run(); all times are nanoseconds since
// the desk began.
import { Chip } from './chip.mjs';

// A byte takes 10 us on the wire at 1 Mbit/s, so boards may part by a little less: nothing that one sends can reach another
// before that one's time.
const LOOKAHEAD_NS = 9_500;
const BYTE_NS = 10_000;

export class Desk {
  /**
   * how 'chain': UART0 of the first board is the host's, UART1 goes to the next board. 'star': every board hears the host and answers it
   * by itself, each being joined once the one before has said something (so that boards number themselves in order). usb: the host has the
   * first board's USB, and nobody its UART0.
   */
  constructor({ image, boards, how = 'chain', usb = false, ppm = [], delayNs = [] }) {
    this.nowNs = 0;
    this.how = how;
    this.usb = usb;
    this.heard = () => {}; // bytes to the host: (byte, atNs, board)
    this.told = () => {}; // bytes from the host: (byte, atNs)
    this.restarted = () => {};
    this.hostFreeNs = 0;
    this.ends = []; // of the host's packets, still on the way to the first board
    this.hopsNs = []; // from a packet's end at one board to its end at the next, downward
    this.endedNs = Array(boards).fill(0);
    this.cuts = new Set(); // cable n is the one above board n
    this.joined = 1;
    this.boards = Array.from({ length: boards }, (_, n) => {
      const chip = new Chip({ image, ppm: ppm[n] ?? 0, seed: 12345 + 678 * n, usb: usb && n === 0 });
      this.wire(chip, n);
      return chip;
    });
    delayNs.forEach((delay, n) => delay && this.boards[n]?.restart(delay, 0));
  }

  wire(chip, n) {
    const chain = this.how === 'chain';
    chip.told = (byte, atNs) => this.heard(byte, atNs, n);
    chip.sent[0] = (byte, atNs) => {
      if (this.cuts.has(n) || (this.usb && n === 0)) return;
      if (!chain || n === 0) {
        this.joined = Math.max(this.joined, Math.min(n + 2, this.boards?.length ?? 1));
        this.heard(byte, atNs, n);
      } else this.boards[n - 1].lines[1].hear(byte, atNs);
    };
    chip.sent[1] = (byte, atNs) => {
      if (!chain || n + 1 >= this.boards.length || this.cuts.has(n + 1)) return;
      this.boards[n + 1].lines[0].hear(byte, atNs);
      if (byte !== 0) return;
      this.hopsNs.push(atNs - this.endedNs[n]);
      this.endedNs[n + 1] = atNs;
    };
  }

  /** Bytes from the host, one after the other at the speed of the line. */
  send(bytes) {
    if (this.usb) return this.boards[0].computer.send(bytes);
    this.hostFreeNs = Math.max(this.hostFreeNs, this.nowNs);
    for (const byte of bytes) {
      this.hostFreeNs += BYTE_NS;
      if (this.cuts.has(0)) continue;
      this.told(byte, this.hostFreeNs);
      if (byte === 0) this.ends.push(this.hostFreeNs);
      const listeners = this.how === 'chain' ? 1 : this.joined;
      for (let n = 0; n < listeners; n++) this.boards[n].lines[0].hear(byte, this.hostFreeNs);
    }
  }

  /** Until then, or a little (LOOKAHEAD_NS) after `done` becomes true. */
  run(ns, done = () => false) {
    const end = this.nowNs + ns;
    while (this.nowNs < end && !done()) {
      while (this.ends.length > 0 && this.ends[0] <= this.nowNs) this.endedNs[0] = this.ends.shift();
      let horizon = end;
      for (const chip of this.boards) horizon = Math.min(horizon, Math.max(chip.nextNs(), this.nowNs) + LOOKAHEAD_NS);
      for (const [n, chip] of this.boards.entries()) {
        const before = chip.resets;
        chip.runTo(horizon);
        if (chip.resets !== before) this.restarted(n, horizon);
      }
      this.nowNs = horizon;
    }
  }

  /** "hops MEDIAN_US MOST_US" */
  hops() {
    const sorted = this.hopsNs.sort((a, b) => a - b);
    const us = (ns = 0) => (ns / 1000).toFixed(3);
    return `hops ${us(sorted[sorted.length >> 1])} ${us(sorted.at(-1))}`;
  }
}
