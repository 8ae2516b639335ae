// What is recorded beside readings and lifts, by touch and without signal: all of it
// has to count at the server.
import assert from "node:assert/strict";
import { note } from "./measured.js";
import { setUp } from "./offline.js";
import { Phone } from "./phone.js";

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

  async "finding"(phone, job) {
    await phone.at(job, "/do/finding?support=B1-2");
    await phone.tap("rotten");
    await phone.tap(/^How bad/);
    await phone.tap("badly");
    await phone.tap("B1-1");
    await record(phone, "Save: rotten");
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

  async "floor-cut"(phone, job) {
    await phone.at(job, "/do/floor-cut");
    await phone.tap("kitchen");
    await phone.tap("boards");
    await record(phone, "Save");
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
    await phone.page.getByRole("textbox", { name: /Which laser|or another/ }).fill("far laser");
    await phone.tap("Say where it stands");
    await phone.page.getByRole("group", { name: "It stands beside" }).getByRole("button", { name: "B1-2" }).click();
    await phone.button("It stands beside B1-2").waitFor();
    await phone.type("1400");
    await record(phone, "Save the set-up");
    const own = (await phone.store()).own.at(-1);
    assert.deepEqual(own.envelope.body.stand, [1.8, 0]);
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
    await phone.at(job, "/do/day-end");
    await phone.tap("Cover it");
    await phone.tap("a board, screwed down");
    await record(phone, "Save");
    await phone.page.getByRole("heading", { name: "End of the day" }).waitFor();
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
    await phone.type("1402");
    await record(phone, "Save B1-1");
    await phone.at(job, "/do/handover");
    await phone.page.getByLabel("Who was there").fill("Rua");
    await phone.page.getByRole("group", { name: "Place", exact: true }).getByRole("button", { name: "B1-1" }).click();
    await phone.page.getByRole("group", { name: "Its reading" }).getByRole("button", { name: /402$/ }).click();
    await record(phone, "Save");
  },
};

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
