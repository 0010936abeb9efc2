// bridge.mjs IMAGE.elf [--boards N] [--tcp PORT] [...]: emulated boards for the real program, `mien play SHOW --port tcp:127.0.0.1:PORT`.
// Time is the computer's: the desk follows it as fast as it can, and what it can't keep up with is lost time, as on a computer
// that was suspended. Says "listening on 127.0.0.1:PORT", then, a line each, what bench.mjs says.
import { readFileSync } from 'node:fs';
import { createServer } from 'node:net';
import { Desk } from './desk.mjs';
import { options } from './options.mjs';

const LONGEST_STEP_NS = 10_000_000, MOST_BEHIND_NS = 200_000_000;

const { image, desk: words, rest } = options(process.argv.slice(2));
const desk = new Desk({ image: readFileSync(image), ...words });
const us = (ns) => (ns / 1000).toFixed(3);
const say = (line) => process.stdout.write(line + '\n');
for (const [n, chip] of desk.boards.entries()) {
  chip.pulse = (gpio, riseNs, widthUs) => say(`pulse ${n} ${gpio} ${us(riseNs)} ${widthUs.toFixed(3)}`);
}
desk.restarted = (n, atNs) => say(`reset ${n} ${us(atNs)}`);

let client = null;
let toHost = [];
desk.heard = (byte) => toHost.push(byte);

createServer((socket) => {
  if (client) return socket.destroy();
  client = socket;
  socket.setNoDelay(true);
  socket.on('data', (bytes) => {
    catchUp();
    desk.send(bytes);
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
  if (client && toHost.length > 0) client.write(Buffer.from(toHost));
  toHost = [];
  return behindNs > LONGEST_STEP_NS;
}
const turn = () => (catchUp() ? setImmediate(turn) : setTimeout(turn, 1)); // sockets get their turn in between
turn();
