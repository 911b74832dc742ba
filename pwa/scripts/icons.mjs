// Makes the app's mark: an open book whose gutter is a beam narrowing to its focus and widening
// again. One list of shapes gives the SVG and, by sampling, the PNGs. Run: node scripts/icons.mjs
import { mkdirSync, writeFileSync } from "node:fs";
import { dirname, join } from "node:path";
import { fileURLToPath } from "node:url";
import { crc32, deflateSync } from "node:zlib";

const PAPER = "#fbfaf6";
const INK = "#1a1917";
const ACCENT = "#17466b";

// On a field of 64 by 64; later shapes lie on top.
const SHAPES = [
  { fill: ACCENT, points: [[0, 0], [64, 0], [64, 64], [0, 64]] },
  { fill: PAPER, points: [[10, 14], [26, 18], [26, 52], [10, 48]] },
  { fill: PAPER, points: [[54, 14], [38, 18], [38, 52], [54, 48]] },
  { fill: PAPER, points: [[28, 10], [36, 10], [32, 38]] },
  { fill: PAPER, points: [[32, 38], [34.5, 54], [29.5, 54]] },
  { fill: INK, points: [[13, 24], [23, 26.5], [23, 28.5], [13, 26]] },
  { fill: INK, points: [[13, 32], [23, 34.5], [23, 36.5], [13, 34]] },
  { fill: INK, points: [[51, 24], [41, 26.5], [41, 28.5], [51, 26]] },
  { fill: INK, points: [[51, 32], [41, 34.5], [41, 36.5], [51, 34]] },
];
const FIELD = 64;
const SAMPLES = 4;

const rgb = (colour) => [1, 3, 5].map((at) => parseInt(colour.slice(at, at + 2), 16));

function inside([x, y], points) {
  let within = false;
  for (let at = 0, before = points.length - 1; at < points.length; before = at, at += 1) {
    const [x1, y1] = points[at];
    const [x2, y2] = points[before];
    if (y1 > y !== y2 > y && x < ((x2 - x1) * (y - y1)) / (y2 - y1) + x1) within = !within;
  }
  return within;
}

function colourAt(point) {
  const shape = SHAPES.findLast(({ points }) => inside(point, points));
  return rgb(shape === undefined ? ACCENT : shape.fill);
}

function pixels(size) {
  const rows = Buffer.alloc(size * (1 + 3 * size));
  for (let row = 0; row < size; row += 1) {
    for (let column = 0; column < size; column += 1) {
      const sum = [0, 0, 0];
      for (let sample = 0; sample < SAMPLES * SAMPLES; sample += 1) {
        const x = column + ((sample % SAMPLES) + 0.5) / SAMPLES;
        const y = row + (Math.floor(sample / SAMPLES) + 0.5) / SAMPLES;
        colourAt([(x * FIELD) / size, (y * FIELD) / size]).forEach((value, at) => { sum[at] += value; });
      }
      const start = row * (1 + 3 * size) + 1 + 3 * column;
      sum.forEach((value, at) => { rows[start + at] = Math.round(value / (SAMPLES * SAMPLES)); });
    }
  }
  return rows;
}

function chunk(name, data) {
  const body = Buffer.concat([Buffer.from(name, "ascii"), data]);
  const framed = Buffer.alloc(body.length + 8);
  framed.writeUInt32BE(data.length, 0);
  body.copy(framed, 4);
  framed.writeUInt32BE(crc32(body), body.length + 4);
  return framed;
}

function png(size) {
  const header = Buffer.alloc(13);
  header.writeUInt32BE(size, 0);
  header.writeUInt32BE(size, 4);
  header.set([8, 2, 0, 0, 0], 8);
  return Buffer.concat([
    Buffer.from("89504e470d0a1a0a", "hex"),
    chunk("IHDR", header),
    chunk("IDAT", deflateSync(pixels(size), { level: 9 })),
    chunk("IEND", Buffer.alloc(0)),
  ]);
}

function svg() {
  const drawn = SHAPES.map(({ fill, points }) => `  <polygon fill="${fill}" points="${points.map((point) => point.join(",")).join(" ")}"/>`);
  return `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 ${FIELD} ${FIELD}">\n${drawn.join("\n")}\n</svg>\n`;
}

const folder = join(dirname(fileURLToPath(import.meta.url)), "..", "public");
mkdirSync(folder, { recursive: true });
writeFileSync(join(folder, "icon.svg"), svg());
for (const size of [192, 512]) writeFileSync(join(folder, `icon-${size}.png`), png(size));
