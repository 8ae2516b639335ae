// What is recorded beside readings and lifts, by touch and without signal: all of it
// has to count at the server.
import assert from "node:assert/strict";
import path from "node:path";
import { note } from "./measured.js";
import { clearKept, setUp } from "./offline.js";
import { Phone } from "./phone.js";
import { draw } from "./picture.js";

export const recorders = {
  async "everything else without signal"(site) {
    const { id } = await site.house({ bearers: 1, supports: 3, rooms: ["hall", "kitchen"], checked: false });
    const phone = await Phone.start(site);
    await phone.pair();
    await phone.openJob(id);
    await phone.context.setOffline(true);
    for (const [kind, work] of Object.entries(works)) {
      const before = (await phone.store()).own.length;
      await work(phone, id, site);
      const own = (await phone.store()).own;
      assert.ok(own.length > before && own.at(-1).kind === kind.split(",")[0], `${kind}: ${own.slice(before).map((o) => o.kind)}`);
    }
    const { own } = await phone.store();
    await phone.offline(false);
    await phone.allSent();
    const state = await site.state(id);
    assert.deepEqual(state.set_aside ?? [], []);
    assert.equal((await site.log(id)).filter((e) => own.some((o) => o.id === e.event.id)).length, own.length);
    assert.ok(state.checked_today, "the safety check of the phone counts");
    assert.equal(state.stops, undefined, "the go-ahead ended the stop");
    assert.equal(state.blockings, undefined, "the blocking was taken away");
    assert.deepEqual(state.left ?? [], [], "nothing is left at the day's end");
    assert.deepEqual(state.supports.map((s) => [s.id, s.x]), [["B1-1", 0], ["B1-2", 1.8], ["B1-3", 3.6], ["B1-4", 5.4], ["B1-5", 6.6]]);
    assert.deepEqual(state.gaps.map((g) => [g.name, g.first_mm, g.now_mm, g.near]), [["crack 1", 2, 3, "hall"]]);
    assert.deepEqual(state.lists.changes.map((c) => c.closed), ["accepted by Rua"]);
    assert.deepEqual(state.open_cuts.map((c) => [c.name, c.outline.length]), [["C1", 4], ["C2", 4]]);
    assert.deepEqual(state.spots.map((s) => s.id), ["S1"]);
    for (const { event } of await site.log(id)) for (const file of event.files ?? []) await site.photo(file.sha256);
    await phone.end();
  },
};

/** By kind, in the order of a job, each as somebody would do it. */
const works = {
  async "safety-check"(phone, job, site) {
    await phone.at(job);
    await phone.tap("Check safety first");
    const sentences = phone.page.locator(".sentences button");
    for (const sentence of await sentences.all()) await sentence.click();
    await sentences.first().click(); // taken back
    await sentences.first().click();
    assert.match(await sentences.first().innerText(), /^Circuits and gas below.*\sMK$/s);
    await phone.tap(site.person);
    await phone.tap("gas");
    await record(phone, "Save");
  },

  async "condition"(phone, job) {
    await phone.at(job, "/do/condition");
    await phone.tap("hairline cracks");
    await phone.tap("Save, then kitchen");
    await phone.page.getByRole("heading", { name: "Condition: kitchen" }).waitFor();
    await phone.tap("bind");
    await record(phone, "Save");
  },

  async "found"(phone, job) {
    await phone.at(job, "/support/B1-3");
    const touches = phone.touches;
    await phone.tap("Found here");
    await phone.tap(/^Next along this/);
    await record(phone, "Add B1-4 after B1-3");
    note("a support found below", `${phone.touches - touches} touches`, "", 3);
    assert.ok(phone.touches - touches <= 3);
    await phone.page.getByRole("heading", { name: /^B1-4/ }).waitFor();
  },

  async "found, with its distance"(phone, job) {
    await phone.at(job, "/do/found?support=B1-4");
    await phone.tap(/^Next along this/);
    await phone.tap(/It was measured$/);
    await phone.page.getByRole("button", { name: "1", exact: true }).click();
    await phone.tap("point");
    await phone.page.getByRole("button", { name: "2", exact: true }).click();
    await record(phone, "Add B1-5 after B1-4");
  },

  async "found, a spot where it is shown"(phone, job) {
    await phone.at(job, "/do/found?support=B1-1");
    await phone.tap("A spot to read");
    await phone.tap("Show where on the plan");
    await ground(phone, 0.5, 0.5);
    await record(phone, "Read a spot S1 here");
    const { body } = (await phone.store()).own.at(-1).envelope;
    assert.equal(body.what, "spot");
    assert.ok(Math.abs(body.x - 3.3) < 0.06 && Math.abs(body.y) < 1, `the spot stands at ${body.x}, ${body.y}`);
  },

  async "finding"(phone, job) {
    await phone.at(job, "/do/finding?support=B1-2");
    await phone.tap("rotten");
    await phone.tap(/^How bad/);
    await phone.tap("badly");
    await phone.page.getByRole("group", { name: "Where" }).getByRole("button", { name: "hall" }).click();
    await phone.page.getByLabel("By when").fill("2026-03-09");
    await phone.tap("B1-1");
    await record(phone, "Save: rotten");
    const { body } = (await phone.store()).own.at(-1).envelope;
    assert.deepEqual([body.where, body.by, body.supports], ["hall", "2026-03-09", ["B1-2", "B1-1"]]);
  },

  async "finding, said aloud"(phone, job) {
    await phone.at(job, "/do/finding?support=B1-3");
    await phone.tap("Say it");
    await phone.page.getByRole("button", { name: /^Stop. 5\d s left/ }).waitFor();
    assert.ok(await phone.page.getByRole("button", { name: "Stop the sound first" }).isDisabled(), "saved now it would be lost");
    await phone.page.waitForTimeout(500);
    await phone.tap(/^Stop. /);
    await phone.page.locator("audio").waitFor();
    await record(phone, "Save: said, not written");
    const { shot } = await phone.store();
    assert.deepEqual([shot.at(-1).type, shot.at(-1).subject], ["sound", "B1-3"]);
  },

  async "jacking, with its gauge and where it stands"(phone, job) {
    await phone.at(job, "/do/jacking?support=B1-3");
    await phone.tap(/^Where the jack stands/);
    await phone.tap("street side");
    await phone.type("2");
    await phone.tap(/^Its gauge/);
    await phone.type("12");
    await phone.tap("point");
    await phone.type("5");
    await record(phone, "It moved so far");
    const [move] = (await phone.store()).own.at(-1).envelope.body.moves;
    assert.deepEqual([move.by, move.pressure_mpa, move.beside], [{ value: 2, unit: "mm" }, 12.5, "street side"]);
  },

  async "packing, for now"(phone, job) {
    await phone.at(job, "/do/packing?support=B1-3");
    await record(phone, "Packed for now");
  },

  async "jack-down"(phone, job) {
    await phone.at(job, "/support/B1-3");
    await phone.hold(/^Jack down/);
    await phone.saved();
  },

  async "support-work, with a photo"(phone, job) {
    await phone.at(job, "/do/support-work?support=B1-3&step=fixed");
    await photograph(phone);
    await record(phone, "by strap");
    const { shot } = await phone.store();
    assert.deepEqual([shot.at(-1).subject, shot.at(-1).stage], ["B1-3", "after"]);
  },

  async "finding-closed"(phone, job) {
    await phone.at(job, "/do/finding-closed");
    await phone.tap(/^rotten/);
    await phone.tap("mended");
    await record(phone, "Save");
  },

  async "tie"(phone, job) {
    await phone.at(job, "/do/tie?support=B1-1");
    await phone.tap("waste pipe");
    await phone.tap("plumber");
    await record(phone, "Save");
  },

  async "tie-freed"(phone, job) {
    await phone.at(job, "/do/tie-freed");
    await phone.tap(/^T1: waste pipe/);
    await phone.tap("taken apart");
    await record(phone, "Save");
  },

  async "floor-cut"(phone, job, site) {
    await phone.at(job, "/do/floor-cut");
    await phone.tap("kitchen");
    await phone.tap("boards");
    await phone.tap("On the plan: not shown");
    await ground(phone, 0.2, 0.3);
    await phone.page.getByText("Touch the corner opposite.").waitFor();
    await ground(phone, 0.5, 0.6);
    await phone.button(/^across/).scrollIntoViewIfNeeded();
    if (site.shots) await phone.page.screenshot({ path: path.join(site.shots, "cut-on-plan.png") });
    await phone.tap(/^across/);
    await phone.type("600");
    await phone.page.getByText(/^600 mm × /).waitFor();
    await photograph(phone);
    await record(phone, "Save");
    const { own, shot } = await phone.store();
    const { outline } = own.at(-1).envelope.body;
    assert.deepEqual([outline.length, Math.round((outline[2][0] - outline[0][0]) * 1000)], [4, 600]);
    assert.deepEqual([shot.at(-1).subject, shot.at(-1).stage], ["C1", "during"]);
    await phone.page.locator("svg.floor .cut").waitFor({ state: "attached" }); // the boards that are cut
  },

  async "floor-cut, by keys alone"(phone, job) {
    await phone.at(job, "/do/floor-cut");
    await phone.tap("hall");
    await phone.tap("On the plan: not shown");
    await phone.page.locator(".ground button").focus();
    const keys = async (key, times) => {
      for (let i = 0; i < times; i++) await phone.page.keyboard.press(key);
    };
    await phone.page.keyboard.press("Enter"); // the middle
    await keys("ArrowRight", 12);
    await keys("ArrowUp", 18);
    await phone.page.keyboard.press("Enter");
    await phone.page.getByText("600 mm × 900 mm.").waitFor();
    await record(phone, "Save");
    const { outline } = (await phone.store()).own.at(-1).envelope.body;
    assert.deepEqual([outline[2][0] - outline[0][0], outline[2][1] - outline[0][1]].map((m) => Math.round(m * 1000)), [600, 900], "to the right and up, as it is drawn");
  },

  async "gap-reading"(phone, job) {
    await phone.at(job, "/do/gap-reading");
    await phone.tap("hall");
    await phone.type("2");
    await record(phone, "Save");
    await phone.at(job, "/more");
    const touches = phone.touches;
    await phone.tap("Crack or gap");
    await phone.tap("crack 1");
    await phone.type("3");
    await record(phone, "Save");
    note("the same gap again", `${phone.touches - touches} touches`, "", 4);
    assert.ok(phone.touches - touches <= 4);
  },

  async "blocking"(phone, job) {
    await phone.at(job, "/do/blocking?support=B1-2");
    await phone.tap("crossed hardwood");
    await phone.tap("sole plates");
    await record(phone, "Save");
  },

  async "stop"(phone, job) {
    await phone.at(job, "/do/stop?support=B1-2");
    await phone.tap("something cracks");
    await phone.tap("the engineer");
    await phone.page.getByText("Other phones see this only when they have signal. Call out.").waitFor();
    await phone.page.getByText(/^This phone (last heard|heard|has not heard)/).first().waitFor();
    await phone.tap("I have called out");
  },

  async "go-ahead"(phone, job) {
    await phone.at(job);
    await phone.page.locator(".stops a").click();
    await record(phone, "the engineer says: go ahead");
  },

  async "setup"(phone, job) {
    await phone.at(job, "/do/setup");
    await phone.page.getByRole("textbox", { name: "Which laser" }).fill("far laser");
    await phone.tap("Say where it stands");
    await phone.page.getByRole("group", { name: "It stands beside" }).getByRole("button", { name: "B1-2" }).click();
    await phone.button("It stands beside B1-2").waitFor();
    await phone.type("1400");
    await record(phone, "Save the set-up");
    const own = (await phone.store()).own.at(-1);
    assert.deepEqual(own.envelope.body.stand, [1.8, 0]);
  },

  async "reading"(phone, job) {
    await phone.at(job, "/do/reading?support=B1-2");
    await phone.type("1410");
    await record(phone, "Save B1-2");
  },

  async "signed, though its blocking stays"(phone, job) {
    await phone.at(job, "/do/signed?support=B1-2");
    await phone.page.getByRole("button", { name: /^Sign/, disabled: true }).waitFor();
    await phone.tap("the engineer wants it so");
    await goesOn(phone, () => phone.hold(/^Sign/));
    const { body } = (await phone.store()).own.at(-1).envelope;
    assert.equal(body.blocking_stays, "the engineer wants it so");
    assert.ok(body.reading, "it rests on a reading");
  },

  async "difference"(phone, job) {
    await phone.at(job, "/do/difference");
    await phone.page.getByRole("group", { name: "From" }).getByRole("button", { name: "B1-1" }).click();
    await phone.page.getByRole("group", { name: "To" }).getByRole("button", { name: "B1-2" }).click();
    await phone.tap("underside of bearer");
    await phone.type("-7");
    await record(phone, "Save");
  },

  async "under-floor"(phone, job) {
    await phone.at(job, "/do/under-floor");
    await phone.tap("damp");
    await phone.tap(/^Least room from the ground/);
    await phone.type("420");
    await record(phone, "Save");
  },

  async "incident"(phone, job) {
    await phone.at(job, "/do/incident");
    await phone.tap("near miss");
    await record(phone, "Save");
  },

  async "inspection"(phone, job) {
    await phone.at(job, "/do/inspection");
    await phone.page.getByLabel("Who").first().fill("the inspector");
    await phone.tap("before closing");
    await phone.tap("passed");
    await record(phone, "Save");
  },

  async "change"(phone, job) {
    await phone.at(job, "/do/change");
    await phone.page.getByLabel("What changes").fill("two more piers");
    await phone.tap(/^Amount/);
    await phone.type("450");
    await record(phone, "Save");
  },

  async "change-answered"(phone, job) {
    await phone.at(job, "/do/change-answered");
    await phone.page.getByLabel("Name of the owner").fill("Rua");
    await record(phone, "Accepted");
  },

  async "blocking-removed, from the day's end"(phone, job) {
    await phone.at(job, "/do/day-end");
    await phone.tap("Take K1 away");
    await record(phone, "Save");
    await phone.page.getByRole("heading", { name: "End of the day" }).waitFor();
  },

  async "floor-closed, from the day's end"(phone, job) {
    for (const cut of ["C1", "C2"]) {
      await phone.at(job, "/do/day-end");
      await phone.page.getByRole("listitem").filter({ hasText: cut }).getByRole("link", { name: "Cover it" }).click();
      await phone.tap("a board, screwed down");
      await record(phone, "Save");
      await phone.page.getByRole("heading", { name: "End of the day" }).waitFor();
    }
  },

  async "tie-back, from the day's end"(phone, job) {
    await phone.at(job, "/do/day-end");
    await phone.tap("Put it back");
    await phone.tap("run with water");
    await record(phone, "Save");
    await phone.page.getByRole("heading", { name: "End of the day" }).waitFor();
  },

  async "day-end"(phone, job) {
    await phone.at(job, "/do/day-end");
    await phone.tap("What was turned off is on again");
    await goesOn(phone, () => phone.hold(/^Everybody is out/));
  },

  async "handover"(phone, job) {
    await phone.at(job, "/do/setup");
    await goesOn(phone, () => setUp(phone, job));
    await phone.at(job, "/do/reading?support=B1-1");
    await clearKept(phone);
    await phone.type("1402");
    await record(phone, "Save B1-1");
    await phone.at(job, "/do/handover");
    await phone.page.getByLabel("Who was there").fill("Rua");
    await phone.page.getByRole("group", { name: "Place", exact: true }).getByRole("button", { name: "B1-1" }).click();
    await phone.page.getByRole("group", { name: "Its reading" }).getByRole("button", { name: /402$/ }).click();
    await record(phone, "Save");
  },
};

/** A finger on the plan, at parts of it from its top left. */
async function ground(phone, across, down) {
  const svg = phone.page.locator(".ground svg");
  await svg.scrollIntoViewIfNeeded();
  const box = await svg.boundingBox();
  phone.touches++;
  await phone.page.touchscreen.tap(box.x + box.width * across, box.y + box.height * down);
}

async function photograph(phone) {
  await phone.page.getByLabel("Take photo").setInputFiles({ name: "a.png", mimeType: "image/png", buffer: await draw(phone, 60, 40, "image/png") });
  await phone.page.locator(".prints img").waitFor();
}

/** Touches what saves, and waits until the app has gone on by itself: it does so when
 *  its disk has the record. */
async function record(phone, button) {
  await goesOn(phone, () => phone.tap(button));
}

async function goesOn(phone, work) {
  const here = await phone.page.evaluate(() => location.hash);
  await work();
  await phone.page.waitForFunction((h) => location.hash !== h, here);
}
