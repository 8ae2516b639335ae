// Work without signal: nothing may be lost, and the figures are there at once.
import assert from "node:assert/strict";
import path from "node:path";
import { Phone } from "./phone.js";
import { draw } from "./picture.js";

export const offline = {
  async "a cold start without signal"(site) {
    const { id } = await site.house();
    const phone = await Phone.start(site);
    await phone.pair();
    await phone.openJob(id);
    await phone.context.close();
    await phone.launch();
    await phone.context.setOffline(true);
    await phone.visit(`#/job/${id}`);
    await phone.page.locator("svg.floor [data-support=B2-4]").waitFor();
    await phone.end();
  },

  async "a whole job from the keypad without signal"(site) {
    const { id } = await site.house({ bearers: 1, supports: 3 });
    const phone = await Phone.start(site);
    await phone.pair();
    await phone.openJob(id);
    await phone.context.setOffline(true);
    await setUp(phone, id);
    await readAlong(phone, id, ["1430", "00", "01"]);
    await photograph(phone, id, "B1-1");
    // The beam is at 1400 over the datum, so that B1-1 lies 30 below it.
    await toGo(phone, id, { "B1-1": "30 to go", "B1-2": "Level", "B1-3": "1 to go, within what was agreed" });
    await liftUntilLevel(phone, id, "B1-1", [["10", "20 to go"], ["10", "10 to go"], ["10", "Level"]], "1400");
    await toGo(phone, id, { "B1-1": "Level" });
    await finish(phone, id, "B1-1", "32", "1400");
    await phone.page.getByText(/signed/).first().waitFor();
    await phone.tap(/^Next: B1-[23]/); // what is done leads on to where something is to be done
    await phone.page.getByRole("heading", { name: /^B1-[23]: / }).waitFor();
    await phone.page.waitForFunction(allSealed);
    const before = await phone.store();
    assert.ok(before.own.length === 14, `${before.own.length} records`);
    await phone.at(id);
    const figures = await phone.page.locator("svg.floor [data-support=B1-1]").getAttribute("aria-label");
    await phone.offline(false);
    await phone.allSent();
    const log = await site.log(id);
    for (const own of before.own) {
      const there = log.filter((e) => e.event.id === own.id);
      assert.equal(there.length, 1, `record ${own.counter} is in the log ${there.length} times`);
      assert.equal(Buffer.from(there[0].bytes, "base64").toString(), own.sealed, `the bytes of record ${own.counter}`);
    }
    const files = log.flatMap((e) => e.event.files ?? []);
    assert.deepEqual(files.map((f) => [f.sha256, f.subject, f.stage]), before.shot.map((s) => [s.sha256, "B1-1", "before"]), "the photos of the phone");
    for (const f of files) assert.equal((await site.photo(f.sha256)).length, f.bytes);
    const state = await site.state(id);
    assert.equal(state.supports[0].state, "signed");
    assert.deepEqual(await picture(phone), comparable(state), "the phone's state and the server's");
    assert.ok(figures.startsWith(`B1-1: ${state.supports[0].state}`), figures);
    await phone.end();
  },

  async "one reads aloud, another enters, without signal"(site) {
    const { id } = await site.house({ bearers: 1, supports: 3 });
    const phone = await Phone.start(site);
    await phone.pair();
    await phone.openJob(id);
    await phone.context.setOffline(true);
    await setUp(phone, id);
    await phone.at(id, "/do/reading?bearer=B1&all=1");
    await phone.tap("Call out");
    const calling = phone.page.locator(".calling");
    for (const [support, keys, heard] of [["B1-1", "1430", "3 to read"], ["B1-2", "12", "B1-1: 1430 mm"], ["B1-3", "½05", "B1-2: 1412 mm"]]) {
      await phone.page.getByRole("button", { name: `Save ${support}` }).waitFor();
      assert.equal(await calling.innerText(), `${support}\n${heard}`, "what is to be read, and what was heard last");
      // Letters of 90 px are 14 mm high on a phone: an arm and a hatch away they are read.
      assert.ok(await calling.evaluate((e) => parseFloat(getComputedStyle(e).fontSize)) >= 90);
      const [shown, keypad] = [await calling.boundingBox(), await phone.page.locator(".keypad").boundingBox()];
      assert.ok(shown.y >= 0 && shown.x >= 0 && shown.x + shown.width <= 360 && keypad.y + keypad.height <= 740, "it is seen whole, and so is the keypad");
      await phone.type(keys);
      if (site.shots) await phone.page.screenshot({ path: path.join(site.shots, `calling-${support}.png`) });
      await phone.tap(`Save ${support}`);
    }
    await phone.page.locator("svg.floor").waitFor();
    const own = (await phone.store()).own.filter((o) => o.kind === "reading").map((o) => o.envelope.body);
    assert.deepEqual(own.map((b) => [b.point, b.staff.value]), [["B1-1", 1430], ["B1-2", 1412], ["B1-3", 1405.5]]);
    await phone.end();
  },

  async "the browser killed without signal"(site) {
    const { id } = await site.house({ bearers: 1, supports: 3 });
    const phone = await Phone.start(site);
    await phone.pair();
    await phone.openJob(id);
    await phone.context.setOffline(true);
    await setUp(phone, id);
    await readAlong(phone, id, ["1430", "12"], 3);
    const before = await phone.store();
    await phone.kill();
    await phone.launch();
    await phone.context.setOffline(true);
    await phone.visit(`#/job/${id}/support/B1-1`);
    await phone.page.getByText("30 to go").first().waitFor();
    const after = await phone.store();
    assert.deepEqual(after.own, before.own);
    await phone.at(id, "/do/reading?support=B1-3");
    await phone.type("1421");
    await phone.tap("Save B1-3");
    await phone.saved();
    const more = await phone.store();
    assert.equal(more.counter, before.counter + 1);
    assert.equal(new Set(more.own.map((o) => o.counter)).size, more.own.length, "a counter was used again");
    await phone.end();
  },
};

/** Sets the laser up with 1400 on the first datum. */
export async function setUp(phone, job) {
  await phone.at(job, "/do/setup");
  const laser = phone.page.getByRole("textbox", { name: "Which laser" });
  const another = phone.page.getByRole("button", { name: "another", exact: true });
  await laser.or(another).first().waitFor();
  if (await another.isVisible()) await another.click(); // a name that is known is only touched
  await laser.fill("site laser");
  await phone.type("1400");
  await phone.tap("Save the set-up");
  await phone.saved();
}

/** Reads along a bearer without leaving the keypad. The first figure is typed whole,
 *  of the others the last two digits. */
export async function readAlong(phone, job, figures, places = figures.length) {
  await phone.at(job, "/do/reading?bearer=B1&all=1");
  for (const [i, keys] of figures.entries()) {
    await phone.type(keys);
    await phone.tap(`Save B1-${i + 1}`);
    await phone.page.getByText(`Read: ${i + 1} of ${places}`).or(phone.page.locator("svg.floor")).first().waitFor();
  }
}

/** A photo of a support, as its camera gives it. */
async function photograph(phone, job, support) {
  await phone.at(job, `/do/photo?support=${support}`);
  await phone.page.getByLabel("Take photo").setInputFiles({ name: "a.jpg", mimeType: "image/jpeg", buffer: await draw(phone, 640, 480) });
  await phone.page.locator(".prints img").waitFor();
  await phone.tap("Save the photo");
  await atSupport(phone, support);
}

/** Whether the bytes of all records are fixed. It runs in the page. */
async function allSealed() {
  const db = await new Promise((done) => (indexedDB.open("relevel").onsuccess = (e) => done(e.target.result)));
  const own = await new Promise((done) => (db.transaction("own").objectStore("own").getAll().onsuccess = (e) => done(e.target.result)));
  db.close();
  return own.every((o) => o.sealed !== undefined);
}

async function liftUntilLevel(phone, job, support, moves, staff) {
  for (const [by, left] of moves) {
    await phone.at(job, `/do/jacking?support=${support}`);
    await phone.type(by);
    await phone.tap("It moved so far");
    await toGo(phone, job, { [support]: left });
    await drawn(phone, "on-jack");
  }
  await phone.at(job, `/do/reading?support=${support}`);
  await phone.page.getByText(`Save ${support}`).waitFor();
  await clearKept(phone);
  await phone.type(staff);
  await phone.tap(`Save ${support}`);
  await atSupport(phone, support);
}

/** What is still to go stands at each support right after it was read or moved. */
async function toGo(phone, job, places) {
  for (const [support, words] of Object.entries(places)) {
    await phone.at(job, `/support/${support}`);
    await atSupport(phone, support);
    await phone.page.locator("main p", { hasText: `${words}.` }).first().waitFor();
  }
}

/** The app went back to the support by itself. */
function atSupport(phone, support) {
  return phone.page.getByRole("heading", { name: `${support}: ` }).waitFor();
}

/** Takes the kept hundreds back, to type a figure whole. */
export async function clearKept(phone) {
  for (let i = 0; i < 6; i++) await phone.type("⌫");
}

/** Packs for good, lets the jack down, reads, fixes and signs, by the step that is
 *  offered each time. */
export async function finish(phone, job, support, packer, staff) {
  await phone.at(job, `/do/packing?support=${support}&sort=final`);
  await phone.type(packer);
  await phone.tap("Gap, and one piece as thick");
  await phone.tap(/, on the full width/);
  await phone.page.getByRole("button", { name: /Jack down/ }).waitFor();
  await drawn(phone, "packed");
  await phone.hold(/Jack down/);
  await phone.button("Read").waitFor();
  await drawn(phone, "down");
  await phone.tap("Read");
  await clearKept(phone);
  await phone.type(staff);
  await phone.tap(`Save ${support}`);
  await phone.tap("Fix");
  await phone.tap("by strap");
  await phone.page.getByRole("button", { name: /Sign/ }).waitFor();
  await drawn(phone, "fixed");
  await phone.hold(/Sign/);
  await phone.page.getByRole("heading", { name: /signed/ }).waitFor();
  await drawn(phone, "signed");
}

/** Leaves a picture of a support in a state. */
async function drawn(phone, state) {
  if (phone.site.shots) await phone.page.screenshot({ path: path.join(phone.site.shots, `section-${state}.png`) });
}

/** The picture that the phone shows, as it keeps it. */
export async function picture(phone) {
  const kept = await phone.page.evaluate(async () => {
    const db = await new Promise((done) => (indexedDB.open("relevel").onsuccess = (e) => done(e.target.result)));
    const settings = db.transaction("setting").objectStore("setting");
    const job = location.hash.split("/")[2].split("?")[0];
    const value = await new Promise((done) => (settings.get(`picture ${job}`).onsuccess = (e) => done(e.target.result)));
    db.close();
    return value;
  });
  return comparable(kept);
}

/** What does not hang on the moment of asking. */
export function comparable(state) {
  const { rounds, left, ...rest } = structuredClone(state);
  return rest;
}
