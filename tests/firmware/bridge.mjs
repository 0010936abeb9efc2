// bridge.mjs IMAGE.elf [--boards N] [--tcp PORT] [--lockstep PORT] [...]: emulated boards for the real program, `mien play SHOW --port
// tcp:127.0.0.1:PORT`. Says "listening on 127.0.0.1:PORT", then, a line each, what bench.mjs says.
// Time is the computer's: the desk follows it as fast as it can, and what it can't keep up with is lost time, as on a computer
// that was suspended. With --lockstep it is nobody's: lockstep.cpp, preloaded under the program, asks for it at "lock step on 127.0.0.1:PORT":
//   run UNTIL_NS SENT     time may pass until then, or until a packet for the program is complete; SENT bytes were written to the port so far
//   at NOW_NS SAID        the answer; SAID bytes were written to the program so far
// Then "told AT_US HEX" says each packet from the program, and when the program ends, "stats N ..." of each board and "hops ..." as bench.mjs
// has them, "steps N", how often the program waited, and "end".
import { readFileSync } from 'node:fs';
import { createServer } from 'node:net';
import { createInterface } from 'node:readline';
import { Desk } from './desk.mjs';
import { options } from './options.mjs';

const LONGEST_STEP_NS = 10_000_000, MOST_BEHIND_NS = 200_000_000;
const EPOCH_NS = 1_000_000_000_000; // what the program's clock says as the desk begins, in lock step

const { image, desk: words, rest } = options(process.argv.slice(2));
const inStep = 'lockstep' in rest;
const desk = new Desk({ image: readFileSync(image), ...words });
const us = (ns) => (ns / 1000).toFixed(3);
const say = (line) => process.stdout.write(line + '\n');
for (const [n, chip] of desk.boards.entries()) {
  chip.pulse = (gpio, riseNs, widthUs) => say(`pulse ${n} ${gpio} ${us(riseNs)} ${widthUs.toFixed(3)}`);
}
desk.restarted = (n, atNs) => say(`reset ${n} ${us(atNs)}`);

let client = null;
let toHost = [];
let complete = false;
desk.heard = (byte) => {
  toHost.push(byte);
  if (byte === 0) complete = true;
};

let taken = 0, said = 0;
function answer() {
  if (client && toHost.length > 0) {
    client.write(Buffer.from(toHost));
    said += toHost.length;
  }
  toHost = [];
  complete = false;
}

createServer((socket) => {
  if (client) return socket.destroy();
  client = socket;
  socket.setNoDelay(true);
  socket.on('data', (bytes) => {
    if (!inStep) catchUp();
    taken += bytes.length;
    desk.send(bytes);
    if (inStep) go();
  });
  const gone = () => { if (client === socket) client = null; };
  socket.on('close', gone).on('error', gone);
}).listen(Number(rest.tcp ?? 0), '127.0.0.1', function () { say(`listening on 127.0.0.1:${this.address().port}`); });

let beganNs = Number(process.hrtime.bigint());
function catchUp() {
  let behindNs = Number(process.hrtime.bigint()) - beganNs - desk.nowNs;
  if (behindNs > MOST_BEHIND_NS) {
    say(`behind ${us(behindNs)}`);
    beganNs += behindNs - MOST_BEHIND_NS;
    behindNs = MOST_BEHIND_NS;
  }
  if (behindNs > 0) desk.run(Math.min(behindNs, LONGEST_STEP_NS));
  answer();
  return behindNs > LONGEST_STEP_NS;
}
const turn = () => (catchUp() ? setImmediate(turn) : setTimeout(turn, 1)); // sockets get their turn in between

let asked = null, steps = 0;
function go() {
  if (!asked || taken < asked.sent) return;
  const { line, untilNs } = asked;
  asked = null;
  if (untilNs > desk.nowNs) desk.run(untilNs - desk.nowNs, () => complete);
  answer();
  line.write(`at ${EPOCH_NS + Math.round(desk.nowNs)} ${said}\n`);
}

function end() {
  for (const [n, chip] of desk.boards.entries()) say(chip.stats(n));
  say(desk.hops());
  say(`steps ${steps}`);
  process.stdout.write('end\n', () => process.exit(0));
}

function keepStep() {
  let packet = [];
  desk.told = (byte, atNs) => {
    packet.push(byte);
    if (byte !== 0) return;
    say(`told ${us(atNs)} ${Buffer.from(packet).toString('hex')}`);
    packet = [];
  };
  createServer((line) => {
    line.setNoDelay(true);
    createInterface({ input: line }).on('line', (text) => {
      const [, untilNs, sent] = text.split(' ').map(Number);
      steps++;
      asked = { line, untilNs: untilNs - EPOCH_NS, sent };
      go();
    });
    line.on('close', end).on('error', end);
  }).listen(Number(rest.lockstep), '127.0.0.1', function () { say(`lock step on 127.0.0.1:${this.address().port}`); });
}
inStep ? keepStep() : turn();
