// The words of the command line that describe a desk.
export function options(words) {
  const desk = { boards: 1, how: 'chain' };
  const rest = {};
  let image;
  const numbers = (text) => text.split(',').map(Number);
  for (let i = 0; i < words.length; i++) {
    if (words[i] === '--boards') desk.boards = Number(words[++i]);
    else if (words[i] === '--star') desk.how = 'star';
    else if (words[i] === '--usb') desk.usb = true;
    else if (words[i] === '--ppm') desk.ppm = numbers(words[++i]);
    else if (words[i] === '--delay-us') desk.delayNs = numbers(words[++i]).map((us) => us * 1000);
    else if (words[i].startsWith('--')) rest[words[i].slice(2)] = words[++i];
    else image = words[i];
  }
  if (!image || !process.env.MIEN_NODE_MODULES) {
    process.stderr.write('Name the firmware\'s ELF file, and in MIEN_NODE_MODULES the folder in which npm installed rp2040js.\n');
    process.exit(2);
  }
  return { image, desk, rest };
}
