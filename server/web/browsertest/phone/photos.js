// Photos: what is sent, and that it shows no more than it has to.
import assert from "node:assert/strict";
import { note } from "./measured.js";
import { photograph, ready, sendUntilAll } from "./faults.js";

export const photos = {
  async "twelve megapixels, on its side, with a place in it"(site) {
    const { phone, id } = await ready(site);
    const original = await largePhoto(phone);
    assert.ok(original.includes("Exif") && original.includes("GPSMARK"), "the test's own photo says where it was taken");
    await phone.slow(4);
    await phone.at(id, "/do/photo?support=B1-1");
    await phone.page.locator("input[type=file]").last().setInputFiles({ name: "large.jpg", mimeType: "image/jpeg", buffer: original });
    const begun = performance.now();
    await phone.tap("Save the photo");
    await phone.page.getByRole("heading", { name: "B1-1: " }).waitFor();
    note("12 MP from the touch to “Saved”, ×4", performance.now() - begun, "ms");
    await sendUntilAll(phone, 60_000);
    note("12 MP made small, sent and safe, ×4", performance.now() - begun, "ms");
    const file = (await site.log(id)).find((e) => e.event.kind === "note").event.files[0];
    const got = await fetch(`${site.url}/api/v1/photos/${file.sha256}?size=original`, { headers: { Authorization: `Bearer ${site.token}` } });
    const sent = Buffer.from(await got.arrayBuffer());
    assert.ok(!sent.includes("Exif") && !sent.includes("GPSMARK"), "what is sent says nothing of where");
    assert.equal(file.media_type, "image/jpeg");
    // It was drawn 4000 wide with red on the left, and is to be turned a quarter clockwise.
    assert.deepEqual(await sizeAndTop(phone, sent), { width: 1536, height: 2048, top: "red" });
    note("12 MP as it is sent", sent.length / 1024, "KB");
    await phone.end();
  },

  async "a picture that nobody can decode"(site) {
    const { phone, id } = await ready(site);
    const broken = Buffer.concat([Buffer.from([0xff, 0xd8, 0xff, 0xe0]), Buffer.alloc(5000, 1)]);
    await phone.at(id, "/do/photo?support=B1-1");
    await phone.page.locator("input[type=file]").last().setInputFiles({ name: "broken.jpg", mimeType: "image/jpeg", buffer: broken });
    await phone.tap("Save the photo");
    await phone.page.getByRole("heading", { name: "B1-1: " }).waitFor();
    await sendUntilAll(phone);
    const file = (await site.log(id)).find((e) => e.event.kind === "note").event.files[0];
    assert.equal(file.bytes, broken.length, "it is kept and sent as it was");
    await phone.end();
  },

  async "before, and after from the same place"(site) {
    const { phone, id } = await ready(site);
    await photograph(phone, id, "B1-1", "Before");
    await sendUntilAll(phone);
    await phone.page.reload();
    await phone.at(id, "/do/photo?support=B1-1");
    await phone.tap("After");
    await phone.tap(/With the one before it/);
    await phone.page.locator(".finder img").waitFor();
    await phone.page.waitForFunction(() => document.querySelector(".finder video")?.videoWidth > 0);
    await phone.tap("Take it");
    await phone.tap("Save the photo");
    await phone.page.getByRole("heading", { name: "B1-1: " }).waitFor();
    await sendUntilAll(phone);
    const stages = (await site.log(id)).flatMap((e) => e.event.files ?? []).map((f) => `${f.subject} ${f.stage}`);
    assert.deepEqual(stages, ["B1-1 before", "B1-1 after"]);
    await phone.end();
  },

  async "a finding with a photo, and a sound"(site) {
    const { phone, id } = await ready(site);
    await phone.at(id, "/support/B1-2");
    const touches = phone.touches;
    await phone.tap("Finding");
    await phone.tap("rotten");
    const jpeg = Buffer.from(await phone.page.evaluate(() => new Promise((done) => {
      const c = Object.assign(document.createElement("canvas"), { width: 64, height: 48 });
      c.getContext("2d").fillRect(0, 0, 9, 9);
      c.toBlob(async (b) => done([...new Uint8Array(await b.arrayBuffer())]), "image/jpeg");
    })));
    await phone.page.locator("input[type=file]").first().setInputFiles({ name: "a.jpg", mimeType: "image/jpeg", buffer: jpeg });
    phone.touches += 2; // the camera's own: its button and its shutter
    await phone.page.locator(".prints img").waitFor();
    await phone.tap(/^Save/);
    await phone.page.getByRole("heading", { name: "B1-2: " }).waitFor();
    note("a finding with a photo, from its support", `${phone.touches - touches} touches`, "");
    await phone.at(id, "/do/note?support=B1-2");
    await phone.tap("Say it");
    await phone.page.waitForTimeout(1200);
    await phone.tap(/^Stop\./);
    await phone.page.locator("audio").waitFor();
    await phone.tap("Save the note");
    await phone.page.getByRole("heading", { name: "B1-2: " }).waitFor();
    await sendUntilAll(phone);
    const files = (await site.log(id)).flatMap((e) => e.event.files ?? []);
    assert.deepEqual(files.map((f) => f.type), ["photo", "sound"]);
    await phone.end();
  },
};

/** A JPEG of 4000 by 3000, red on the left, whose EXIF says that it lies on its side
 *  (orientation 6) and where it was taken. */
async function largePhoto(phone) {
  const plain = Buffer.from(await phone.page.evaluate(() => new Promise((done) => {
    const c = Object.assign(document.createElement("canvas"), { width: 4000, height: 3000 });
    const pen = c.getContext("2d");
    for (let i = 0; i < 4000; i++) {
      pen.fillStyle = `rgb(${(i * 37) % 255} ${(i * 91) % 255} ${(i * 53) % 255})`;
      pen.fillRect((i * 997) % 4000, (i * 613) % 3000, 160, 120);
    }
    pen.fillStyle = "#f00";
    pen.fillRect(0, 0, 800, 3000);
    c.toBlob(async (b) => done([...new Uint8Array(await b.arrayBuffer())]), "image/jpeg", 0.9);
  })));
  return Buffer.concat([plain.subarray(0, 2), exif(), plain.subarray(2)]);
}

/** An APP1 segment: orientation 6, and a GPS directory whose datum is a mark. */
function exif() {
  const tiff = Buffer.alloc(26 + 4 + 2 + 12 + 4 + 8);
  tiff.write("MM\0*", 0, "latin1");
  tiff.writeUInt32BE(8, 4);
  tiff.writeUInt16BE(2, 8);
  entry(tiff, 10, 0x0112, 3, 1, 6 << 16);
  entry(tiff, 22, 0x8825, 4, 1, 38);
  tiff.writeUInt16BE(1, 38);
  entry(tiff, 40, 0x0012, 2, 8, 48); // GPSMapDatum, where it lies
  tiff.write("GPSMARK\0", 48, "latin1");
  const body = Buffer.concat([Buffer.from("Exif\0\0", "latin1"), tiff]);
  const head = Buffer.from([0xff, 0xe1, 0, 0]);
  head.writeUInt16BE(body.length + 2, 2);
  return Buffer.concat([head, body]);
}

function entry(tiff, at, tag, type, count, value) {
  tiff.writeUInt16BE(tag, at);
  tiff.writeUInt16BE(type, at + 2);
  tiff.writeUInt32BE(count, at + 4);
  tiff.writeUInt32BE(value, at + 8);
}

/** How large a picture is, and which colour its upper edge has. */
function sizeAndTop(phone, jpeg) {
  return phone.page.evaluate(async (bytes) => {
    const picture = await createImageBitmap(new Blob([new Uint8Array(bytes)], { type: "image/jpeg" }));
    const c = Object.assign(document.createElement("canvas"), { width: picture.width, height: picture.height });
    const pen = c.getContext("2d");
    pen.drawImage(picture, 0, 0);
    const [r, g, b] = pen.getImageData(picture.width / 2, 20, 1, 1).data;
    return { width: picture.width, height: picture.height, top: r > 200 && g < 60 && b < 60 ? "red" : `${r} ${g} ${b}` };
  }, [...jpeg]);
}
