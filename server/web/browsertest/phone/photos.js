// Photos: what a camera gives arrives whole, upright and without the place it was taken
// at, whatever ends the app meanwhile.
import assert from "node:assert/strict";
import { createHash } from "node:crypto";
import { mkdtempSync, rmSync, writeFileSync } from "node:fs";
import os from "node:os";
import path from "node:path";
import { photograph, ready, sendUntilAll } from "./faults.js";
import { note } from "./measured.js";
import { draw, fromPhone, mostMemory, shown } from "./picture.js";

export const photos = {
  async "a photo of 12 megapixels, turned, with a place"(site) {
    const { phone, id } = await ready(site);
    const original = fromPhone(await draw(phone, 4000, 3000));
    await phone.context.close(); // drawing it took more memory than anything after
    await phone.launch();
    await phone.visit(`#/job/${id}`);
    await phone.page.locator("svg.floor").waitFor();
    const before = mostMemory(phone);
    await phone.slow(4);
    const folder = mkdtempSync(path.join(os.tmpdir(), "camera-"));
    writeFileSync(path.join(folder, "a.jpg"), original);
    await choose(phone, id, "B1-1", [path.join(folder, "a.jpg")]);
    const begun = performance.now();
    await phone.tap("Save the photo");
    await phone.page.getByRole("heading", { name: "B1-1: " }).waitFor();
    note("12 MP from the touch to “Saved”, ×4", performance.now() - begun, "ms");
    const [sent] = await arrived(phone, site, id, 1, 60_000);
    note("12 MP made small, sent and safe, ×4", performance.now() - begun, "ms");
    rmSync(folder, { recursive: true });
    note("12 MP, memory of the page", mostMemory(phone) - before, "MB");
    assert.deepEqual([sent.media_type, sent.subject, sent.stage], ["image/jpeg", "B1-1", "before"]);
    const copy = await bytesSent(site, sent);
    note("12 MP as it is sent", copy.length / 1024, "KB");
    assert.ok(copy.length < 1.5e6, `${copy.length} bytes of ${original.length}`);
    for (const trace of ["Exif", "A camera"]) assert.ok(original.includes(trace) && !copy.includes(trace), `the copy says ${trace}`);
    // Stored with the top to the left: what was stored at the top left is shown at the top right.
    assert.deepEqual(await shown(phone, copy), { width: 1536, height: 2048, topLeft: "bottomLeft", topRight: "topLeft", bottomLeft: "bottomRight", bottomRight: "topRight" });
    assert.deepEqual((await phone.store()).bytes, [], "the phone let its bytes go");
    await phone.end();
  },

  async "how long a photo takes to be shrunk"(site) {
    const { phone } = await ready(site);
    const original = fromPhone(await draw(phone, 4000, 3000));
    const ms = await phone.page.evaluate(async (base64) => {
      const data = Uint8Array.from(atob(base64), (c) => c.charCodeAt(0)).buffer;
      const worker = new Worker("shrink.js", { type: "module" });
      const begun = performance.now();
      worker.postMessage({ id: 1, media: "image/jpeg", data }, [data]);
      const answer = await new Promise((done) => (worker.onmessage = (m) => done(m.data)));
      worker.terminate();
      if (!answer.data) throw new Error(answer.failed);
      return performance.now() - begun;
    }, original.toString("base64"));
    // Chromium slows pages and no workers, so that the time is multiplied.
    note("12 MP shrunk, four times as long as it took", 4 * ms, "ms", 10_000);
    assert.ok(4 * ms < 10_000, `${ms} ms: four times that is longer than a phone waits`);
    await phone.end();
  },

  async "PNG, WebP, and what no browser can show"(site) {
    const { phone, id } = await ready(site);
    const broken = fromPhone(await draw(phone, 640, 480)).subarray(0, 900);
    const strange = Buffer.from("\0\0\0\x18ftypheic of a phone that converts nothing");
    await choose(phone, id, "B1-1", [
      file("a.png", "image/png", await draw(phone, 2400, 900, "image/png")), file("b.webp", "image/webp", await draw(phone, 300, 500, "image/webp")),
      file("c.jpg", "image/jpeg", broken), file("d.heic", "image/heic", strange),
    ], 2);
    await until(async () => (await phone.page.getByText(/This phone cannot show it. It is kept/).count()) === 2);
    await phone.page.getByText("All of these are saved as of B1-1, before.").waitFor();
    await phone.tap("Save 4 photos");
    await phone.page.locator(".held").getByText(/1 photo on this phone, 1 not taken/).waitFor();
    const [png, webp, kept, refused] = await filesSent(site, id);
    const upright = { topLeft: "topLeft", topRight: "topRight", bottomLeft: "bottomLeft", bottomRight: "bottomRight" };
    assert.deepEqual([png.media_type, webp.media_type], ["image/jpeg", "image/jpeg"]);
    assert.deepEqual(await shown(phone, await bytesSent(site, png)), { width: 2048, height: 768, ...upright });
    assert.deepEqual(await shown(phone, await bytesSent(site, webp)), { width: 300, height: 500, ...upright }, "a small one is not made larger");
    assert.deepEqual(await bytesSent(site, kept), broken, "what cannot be shown is evidence as it is");
    assert.deepEqual([refused.media_type, refused.sha256], ["image/heic", digest(strange)]);
    const { shot, bytes } = await phone.store();
    const left = shot.find((s) => s.sha256 === refused.sha256);
    assert.equal(left.state, "refused");
    assert.ok(bytes.includes(`${left.id} original`), "what the office does not take stays on the phone");
    await phone.end();
  },

  async "a file that cannot be read"(site) {
    const { phone, id } = await ready(site);
    await phone.page.evaluate(() => {
      const real = Blob.prototype.arrayBuffer;
      Blob.prototype.arrayBuffer = function () {
        return this.name === "gone.jpg" ? Promise.reject(new DOMException("its handle went stale", "NotReadableError")) : real.call(this);
      };
    });
    const good = await draw(phone, 300, 200);
    await choose(phone, id, "B1-1", [file("first.jpg", "image/jpeg", good), file("gone.jpg", "image/jpeg", good), file("last.jpg", "image/jpeg", good)], 2);
    await phone.page.getByRole("alert").getByText("gone.jpg could not be read: take it again.").waitFor();
    await phone.tap("Save 2 photos");
    assert.equal((await arrived(phone, site, id, 2)).length, 2);
    await phone.end();
  },

  async "the app ended while the camera was open"(site) {
    const { phone, id } = await ready(site);
    const screen = `#/job/${id}/do/photo?support=B1-1`;
    await phone.context.setOffline(true);
    await choose(phone, id, "B1-1", [file("a.jpg", "image/jpeg", await draw(phone, 640, 480))]);
    await phone.tap("During");
    const second = await draw(phone, 480, 640);
    const opened = phone.page.waitForEvent("filechooser");
    await phone.page.getByLabel("Take photo").click();
    await opened;
    await until(async () => (await intent(phone))?.open === true);
    await phone.kill();
    await phone.launch();
    await phone.context.setOffline(true);
    await phone.visit();
    await phone.page.getByText("The camera was open when the app was closed: take it again.").waitFor();
    assert.equal(await phone.page.evaluate(() => location.hash), screen);
    await phone.page.locator(".prints img").waitFor();
    assert.equal(await phone.page.getByRole("button", { name: "During" }).getAttribute("aria-pressed"), "true");
    await phone.page.getByLabel("Take photo").setInputFiles(file("b.jpg", "image/jpeg", second));
    await phone.tap("Save 2 photos");
    await phone.saved();
    await until(async () => (await intent(phone)) === undefined);
    await phone.offline(false);
    assert.deepEqual((await arrived(phone, site, id, 2)).map((f) => f.stage), ["during", "during"]);
    await phone.end();
  },

  async "a photo after, over the one before"(site) {
    const { phone, id } = await ready(site);
    await phone.page.getByRole("link", { name: "Photo, before the first cut" }).waitFor();
    await phone.at(id, "/do/floor-cut");
    await phone.page.getByText("Once it is cut there will be none.").waitFor();
    await photograph(phone, id, "B1-1");
    await arrived(phone, site, id, 1);
    await until(async () => (await setting(phone, "album"))?.length === 1);
    assert.deepEqual((await phone.store()).bytes, [], "its own bytes are gone");
    await phone.at(id);
    await phone.page.getByRole("link", { name: "Photo", exact: true }).waitFor();
    await phone.context.setOffline(true);
    await phone.at(id, "/do/photo?support=B1-1");
    await phone.tap("After");
    await phone.tap(/With the one before it/);
    const over = phone.page.getByRole("img", { name: "B1-1, before" });
    await over.waitFor();
    assert.ok(await over.evaluate((i) => i.decode().then(() => i.naturalWidth > 0)));
    assert.equal(await over.evaluate((i) => getComputedStyle(i).opacity), "0.3");
    if (site.shots) await phone.page.screenshot({ path: path.join(site.shots, "finder-faint.png") });
    await phone.tap("beside");
    const [video, picture] = [await phone.page.locator("video").boundingBox(), await over.boundingBox()];
    assert.ok(picture.y + picture.height <= video.y + 1, "one above the other");
    await phone.tap("none");
    assert.equal(await over.count(), 0);
    assert.ok((await phone.button("Take it").boundingBox()).height >= 76);
    await phone.tap("Take it");
    await phone.tap("Save the photo");
    await phone.saved();
    await phone.offline(false);
    const [before, after] = await arrived(phone, site, id, 2);
    assert.deepEqual([before.stage, after.stage, after.subject], ["before", "after", "B1-1"]);
    assert.ok((await shown(phone, await bytesSent(site, after))).width > 0);
    await phone.end();
  },

  async "a finding with a photo"(site) {
    const { phone, id } = await ready(site);
    const picture = await draw(phone, 640, 480);
    await phone.at(id, "/support/B1-2");
    const touches = phone.touches;
    await phone.tap("Finding");
    await phone.tap("rotten");
    await phone.page.getByLabel("Take photo").setInputFiles(file("a.jpg", "image/jpeg", picture));
    phone.touches += 2; // the camera's own: its button and its shutter
    await phone.page.locator(".prints img").waitFor();
    await phone.tap(/^Save/);
    await phone.page.getByRole("heading", { name: "B1-2: " }).waitFor();
    note("a finding with a photo, from its support", `${phone.touches - touches} touches`, "");
    assert.equal((await arrived(phone, site, id, 1))[0].subject, "B1-2");
    await phone.end();
  },
};

const file = (name, mimeType, buffer) => ({ name, mimeType, buffer });
export const digest = (bytes) => createHash("sha256").update(bytes).digest("hex");

/** Chooses photos of a support, and waits until so many can be seen. */
async function choose(phone, job, support, files, seen = files.length) {
  await phone.at(job, `/do/photo?support=${support}`);
  await phone.page.getByLabel("Choose photo").setInputFiles(files);
  await phone.page.locator(".prints img").nth(seen - 1).waitFor();
}

/** What events say of their files, in their order. */
export async function filesSent(site, job) {
  return (await site.log(job)).flatMap((e) => e.event.files ?? []);
}

/** Waits until so many files are at the server, bytes and all. */
export async function arrived(phone, site, job, files, ms) {
  await until(async () => {
    await phone.page.evaluate(() => dispatchEvent(new Event("online")));
    return (await filesSent(site, job)).length >= files;
  }, ms);
  await sendUntilAll(phone, ms);
  return filesSent(site, job);
}

export async function bytesSent(site, { sha256 }) {
  const got = await fetch(`${site.url}/api/v1/photos/${sha256}?size=original`, { headers: { Authorization: `Bearer ${site.token}` } });
  assert.equal(got.status, 200);
  const bytes = Buffer.from(await got.arrayBuffer());
  assert.equal(digest(bytes), sha256);
  return bytes;
}

const intent = (phone) => setting(phone, "intent");

function setting(phone, name) {
  return phone.page.evaluate(async (name) => {
    const db = await new Promise((done) => (indexedDB.open("relevel").onsuccess = (e) => done(e.target.result)));
    const value = await new Promise((done) => (db.transaction("setting").objectStore("setting").get(name).onsuccess = (e) => done(e.target.result)));
    db.close();
    return value;
  }, name);
}

async function until(holds, ms = 10_000) {
  for (const end = Date.now() + ms; !(await holds()); ) {
    assert.ok(Date.now() < end, `not after ${ms / 1000} s: ${holds}`);
    await new Promise((done) => setTimeout(done, 100));
  }
}
