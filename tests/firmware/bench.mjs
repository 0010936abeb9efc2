// bench.mjs IMAGE.elf [--boards N] [--star | --usb] [--ppm A,B,...] [--delay-us A,B,...]
// Emulated boards in lock step with a program that writes commands, a line each, and reads what came of them:
//   run US                lets time pass; answers what happened meanwhile, then "ok NOW_US"
//   send HEX              bytes from the host, from now on
//   cut N | join N        the cable above board N
//   input N GPIO 0|1      a level at a pin
//   adc N CHANNEL 0..4095
//   hang N                the processor stops, as on a fault
//   power N               off and on
//   usb                   answers "usb STATE DESCRIPTORS": how far a computer at the first board's USB is, and what it read, in hexadecimal
//   terminal 0|1          a program on that computer closes the port, or opens it (as it is at first)
//   flash N OFFSET HEX    bytes into its flash, as a programmer would put them there
//   hops                  answers "hops MEDIAN_US MOST_US": how long packets took from board to board, downward
//   stats N               answers "stats N overruns0 overruns1 overwritten resets"
// What happens: "pulse BOARD GPIO RISE_US WIDTH_US" (width by the board's own crystal), "level BOARD GPIO 0|1 AT_US", "reset BOARD
// AT_US", and "heard AT_US BOARD HEX", a whole packet with the time of its last bit.
import { readFileSync } from 'node:fs';
import { createInterface } from 'node:readline';
import { Desk } from './desk.mjs';
import { options } from './options.mjs';

const { image, desk: words } = options(process.argv.slice(2));
const desk = new Desk({ image: readFileSync(image), ...words });
let out = [];
const us = (ns) => (ns / 1000).toFixed(3);

for (const [n, chip] of desk.boards.entries()) {
  chip.pulse = (gpio, riseNs, widthUs) => out.push(`pulse ${n} ${gpio} ${us(riseNs)} ${widthUs.toFixed(3)}`);
  chip.level = (gpio, high, atNs) => out.push(`level ${n} ${gpio} ${high ? 1 : 0} ${us(atNs)}`);
}
desk.restarted = (n, atNs) => out.push(`reset ${n} ${us(atNs)}`);
const packets = desk.boards.map(() => []);
desk.heard = (byte, atNs, n) => {
  packets[n].push(byte);
  if (byte !== 0) return;
  out.push(`heard ${us(atNs)} ${n} ${Buffer.from(packets[n]).toString('hex')}`);
  packets[n] = [];
};

const commands = {
  run: ([length]) => {
    desk.run(Number(length) * 1000);
    out.push(`ok ${us(desk.nowNs)}`);
    process.stdout.write(out.join('\n') + '\n');
    out = [];
  },
  send: ([hex]) => desk.send(Buffer.from(hex, 'hex')),
  cut: ([n]) => desk.cuts.add(Number(n)),
  join: ([n]) => desk.cuts.delete(Number(n)),
  input: ([n, gpio, high]) => desk.boards[n].input(Number(gpio), high === '1'),
  adc: ([n, channel, value]) => { desk.boards[n].adc[channel] = Number(value); },
  hang: ([n]) => desk.boards[n].hang(),
  power: ([n]) => desk.boards[n].restart(desk.nowNs, 0),
  flash: ([n, offset, hex]) => desk.boards[n].flash.set(Buffer.from(hex, 'hex'), Number(offset)),
  usb: () => {
    const { state, descriptors } = desk.boards[0].computer;
    process.stdout.write(`usb ${state} ${Object.entries(descriptors).map(([name, bytes]) => `${name}=${Buffer.from(bytes).toString('hex')}`).join(' ')}\n`);
  },
  terminal: ([open]) => desk.boards[0].computer.setTerminal(open === '1'),
  hops: () => process.stdout.write(desk.hops() + '\n'),
  stats: ([n]) => process.stdout.write(desk.boards[n].stats(n) + '\n'),
};

try {
  for await (const line of createInterface({ input: process.stdin })) {
    const [word, ...rest] = line.trim().split(' ');
    if (word === 'quit') break;
    if (!commands[word]) throw new Error(`no such command: ${word}`);
    commands[word](rest);
  }
} catch (error) {
  process.stdout.write(out.join('\n') + `\nfault ${error.message}\n`);
  process.stderr.write(`${error.stack}\n`);
  process.exit(1);
}
process.exit(0);
