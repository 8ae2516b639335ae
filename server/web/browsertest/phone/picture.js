// Pictures and films as cameras make them.
import assert from "node:assert/strict";
import { readFileSync, readdirSync, writeFileSync } from "node:fs";

const corners = { topLeft: [220, 30, 30], topRight: [30, 180, 30], bottomLeft: [30, 30, 220], bottomRight: [240, 240, 240] };

/** Draws a picture in the phone's browser, with a colour in each corner and enough
 *  between them to make a file as large as a camera's. */
export async function draw(phone, width, height, media = "image/jpeg") {
  const address = await phone.page.evaluate(({ width, height, media, corners }) => {
    const sheet = Object.assign(document.createElement("canvas"), { width, height });
    const pen = sheet.getContext("2d");
    for (let i = 0; i < 3000; i++) {
      pen.fillStyle = `hsl(${(i * 137) % 360} 60% ${30 + (i % 50)}%)`;
      pen.fillRect((i * 7919) % width, (i * 104729) % height, width / 20, height / 30);
    }
    const w = width / 5, h = height / 5;
    for (const [at, colour] of Object.entries(corners)) {
      pen.fillStyle = `rgb(${colour})`;
      pen.fillRect(at.endsWith("Left") ? 0 : width - w, at.startsWith("top") ? 0 : height - h, w, h);
    }
    return sheet.toDataURL(media, 0.95);
  }, { width, height, media, corners });
  assert.ok(address.startsWith(`data:${media};`), "the browser draws no such pictures");
  return Buffer.from(address.slice(address.indexOf(",") + 1), "base64");
}

/** The same JPEG as a phone writes it that was held upright: turned by its EXIF
 *  (6: what is stored as the top is shown on the right), with where it was taken. */
export function fromPhone(jpeg) {
  const text = (tag, value) => ({ tag, type: 2, count: value.length + 1, data: Buffer.from(`${value}\0`) });
  const ratios = (tag, list) => ({ tag, type: 5, count: list.length, data: Buffer.concat(list.map((n) => whole(n, 1))) });
  const head = 8;
  const first = (gps) => [text(0x010f, "A camera"), { tag: 0x0112, type: 3, count: 1, data: Buffer.from([0, 6]) }, { tag: 0x8825, type: 4, count: 1, data: whole(gps) }];
  const gpsAt = head + directory(head, first(0)).length;
  const gps = [text(1, "S"), ratios(2, [36, 51, 2]), text(3, "E"), ratios(4, [174, 45, 9])];
  const tiff = Buffer.concat([Buffer.from("MM\0*"), whole(head), directory(head, first(gpsAt)), directory(gpsAt, gps)]);
  const exif = Buffer.concat([Buffer.from("Exif\0\0"), tiff]);
  const length = Buffer.alloc(2);
  length.writeUInt16BE(exif.length + 2);
  return Buffer.concat([jpeg.subarray(0, 2), Buffer.from([0xff, 0xe1]), length, exif, jpeg.subarray(2)]);
}

function whole(...numbers) {
  const b = Buffer.alloc(4 * numbers.length);
  numbers.forEach((n, i) => b.writeUInt32BE(n, 4 * i));
  return b;
}

/** A directory of TIFF 6.0 at an offset, with what does not fit into four bytes after it. */
function directory(at, entries) {
  const list = Buffer.alloc(2 + 12 * entries.length + 4);
  list.writeUInt16BE(entries.length);
  const after = [];
  let free = at + list.length;
  entries.forEach((e, i) => {
    const o = 2 + 12 * i;
    list.writeUInt16BE(e.tag, o);
    list.writeUInt16BE(e.type, o + 2);
    list.writeUInt32BE(e.count, o + 4);
    if (e.data.length <= 4) return void e.data.copy(list, o + 8);
    list.writeUInt32BE(free, o + 8);
    after.push(e.data);
    free += e.data.length;
  });
  return Buffer.concat([list, ...after]);
}

/** How a picture is shown: its size, and which corner of the drawing is in each. */
export function shown(phone, bytes) {
  return phone.page.evaluate(async ({ base64, corners }) => {
    const picture = await createImageBitmap(new Blob([Uint8Array.from(atob(base64), (c) => c.charCodeAt(0))]));
    const { width, height } = picture;
    const pen = new OffscreenCanvas(width, height).getContext("2d");
    pen.drawImage(picture, 0, 0);
    const nearest = (x, y) => {
      const seen = pen.getImageData(x, y, 1, 1).data;
      const off = ([, colour]) => colour.reduce((sum, c, i) => sum + Math.abs(c - seen[i]), 0);
      return Object.entries(corners).sort((a, b) => off(a) - off(b))[0][0];
    };
    return { width, height, topLeft: nearest(20, 20), topRight: nearest(width - 20, 20), bottomLeft: nearest(20, height - 20), bottomRight: nearest(width - 20, height - 20) };
  }, { base64: bytes.toString("base64"), corners });
}

const film = { width: 640, height: 480 };

/** Writes what is drawn as SVG somewhere on the phone's screen as a film that another
 *  browser can take for its camera. */
export async function filmOf(phone, selector, file) {
  const luma = await phone.page.evaluate(async ({ selector, width, height }) => {
    const svg = document.querySelector(selector).cloneNode(true);
    const side = height - 40;
    svg.setAttribute("width", side);
    svg.setAttribute("height", side);
    const picture = new Image();
    picture.src = `data:image/svg+xml,${encodeURIComponent(new XMLSerializer().serializeToString(svg))}`;
    await picture.decode();
    const pen = new OffscreenCanvas(width, height).getContext("2d");
    pen.fillStyle = "#fff";
    pen.fillRect(0, 0, width, height);
    pen.drawImage(picture, (width - side) / 2, 20, side, side);
    return [...pen.getImageData(0, 0, width, height).data.filter((_, i) => i % 4 === 0)];
  }, { selector, ...film });
  const { width, height } = film;
  const frame = Buffer.concat([Buffer.from("FRAME\n"), Buffer.from(luma), Buffer.alloc((width * height) / 2, 128)]);
  writeFileSync(file, Buffer.concat([Buffer.from(`YUV4MPEG2 W${width} H${height} F10:1 Ip A1:1 C420jpeg\n`), frame, frame, frame]));
}

/** The most memory that a process of the phone's pages ever took, in MB. */
export function mostMemory(phone) {
  const all = readdirSync("/proc").filter((n) => /^\d+$/.test(n)).map(processOf).filter(Boolean);
  const ours = new Set(all.filter((p) => p.command.includes(phone.profile)).map((p) => p.pid));
  for (let before = -1; before !== ours.size; ) {
    before = ours.size;
    for (const p of all) if (ours.has(p.parent)) ours.add(p.pid);
  }
  return Math.max(...all.filter((p) => ours.has(p.pid) && p.command.includes("--type=renderer")).map((p) => p.most));
}

function processOf(pid) {
  try {
    const status = readFileSync(`/proc/${pid}/status`, "utf8");
    const of = (name) => Number(status.match(new RegExp(`^${name}:\\s+(\\d+)`, "m"))?.[1] ?? 0);
    return { pid: Number(pid), parent: of("PPid"), most: of("VmHWM") / 1024, command: readFileSync(`/proc/${pid}/cmdline`, "utf8") };
  } catch {
    return undefined; // it ended meanwhile
  }
}
