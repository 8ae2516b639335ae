// Wrong clocks, and several phones on one floor: the state is one of the set of
// events, whoever sends first.
import assert from "node:assert/strict";
import { comparable, picture, setUp } from "./offline.js";
import { photograph, read, ready, sendUntilAll } from "./faults.js";
import { Phone } from "./phone.js";
import { Office } from "./site.js";

const hour = 3_600_000;

export const clocks = {
  async "a clock three hours ahead"(site) {
    await wrongClock(site, 3 * hour, /3 hours later than its receipt: the device's clock was wrong/, /clock was off by 3 hours; its times are corrected/);
  },

  async "a clock more than a day behind"(site) {
    await wrongClock(site, -25 * hour, /clock is unchecked, and its time is 25 hours before its receipt/, /clock was off by 25 hours; its times are corrected/);
  },

  async "two phones at one support, in either order"(site) {
    const [a, b] = [await Phone.start(site), await Phone.start(site)];
    await a.pair();
    await b.pair();
    const ab = await both(site, a, b, [a, b]);
    const ba = await both(site, a, b, [b, a]);
    assert.deepEqual(ab, ba, "the order of sending made a difference");
    await a.end();
    await b.end();
  },

  async "a late event that changes what somebody acted on"(site) {
    const { phone: near, id } = await ready(site, { bearers: 1, supports: 3 });
    const far = await Phone.start(site);
    await far.pair();
    await far.openJob(id);
    await read(far, id, "B1-1", "1430");
    await far.allSent();
    await far.context.setOffline(true);
    await heard(near, id, 5);
    await jack(far, id, "B1-1", "10"); // which near does not know of
    await jack(near, id, "B1-1", "10");
    await near.allSent();
    await near.at(id);
    assert.equal(await near.page.locator(".foot.doubt").count(), 0, "there was nothing to say yet");
    await far.offline(false);
    await far.allSent();
    await kick(near);
    await near.page.locator(".foot.doubt [role=status]").getByText(/B1-1: order uncertain/).waitFor();
    await far.page.locator(".foot.doubt [role=status]").getByText(/B1-1: order uncertain/).waitFor();
    await near.at(id, "/book");
    await near.page.locator(".flags li").first().getByText(/B1-1: order uncertain/).waitFor();
    await near.page.reload(); // it was said once
    await near.openJob(id);
    await near.page.waitForTimeout(500);
    assert.equal(await near.page.locator(".foot.doubt").count(), 0, "it was said again");
    await near.end();
    await far.end();
  },

  async "eight others record fifty times each while one phone listens"(site) {
    const { phone, id } = await ready(site);
    const before = (await site.log(id)).length;
    let done = false;
    const eight = Promise.all(Array.from({ length: 8 }, async () => {
      const one = new Office(site, id);
      for (let i = 0; i < 50; i++) await one.record("note", { text: `note ${i}` });
    })).finally(() => (done = true));
    while (!done) {
      await kick(phone);
      await phone.page.waitForTimeout(120);
    }
    await eight;
    await read(phone, id, "B1-1", "1430");
    await sendUntilAll(phone);
    const total = before + 400 + 1;
    await heard(phone, id, total);
    const { heard: all } = await phone.store();
    const seqs = all.filter((h) => h.job === id).map((h) => h.seq);
    assert.deepEqual(seqs, Array.from({ length: total }, (_, i) => i + 1), "a gap");
    await phone.at(id, "/book");
    await phone.page.locator("table.book tbody tr").first().getByText(String(total), { exact: true }).waitFor();
    await phone.end();
  },
};

/** A phone whose clock is off records before it ever heard the server's time, and
 *  after. */
async function wrongClock(site, byMS, unchecked, corrected) {
  const phone = await Phone.start(site);
  await phone.context.addInitScript((byMS) => {
    const Real = Date;
    globalThis.Date = class extends Real {
      constructor(...given) {
        super(...(given.length > 0 ? given : [Real.now() + byMS]));
      }
      static now() {
        return Real.now() + byMS;
      }
    };
  }, byMS);
  const { id } = await site.house({ bearers: 1, supports: 3 });
  await phone.pair();
  await phone.openJob(id);
  await phone.context.setOffline(true);
  await phone.page.reload(); // a session of the clock that never heard the server's
  await setUp(phone, id);
  await read(phone, id, "B1-1", "1430");
  await phone.page.reload(); // that session never will
  await phone.offline(false);
  await sendUntilAll(phone);
  await read(phone, id, "B1-2", "1410");
  await photograph(phone, id, "B1-2");
  await sendUntilAll(phone);
  const log = await site.log(id);
  const [first, second] = log.filter((e) => e.event.kind === "reading").map((e) => e.event);
  assert.equal(log.filter((e) => e.event.device === first.device).length, 4, "everything is in the log");
  assert.equal(first.offset_ms, undefined);
  assert.ok(Math.abs(second.offset_ms + byMS) < 5_000, `an offset of ${second.offset_ms}`);
  assert.ok(Math.abs(Date.parse(second.at) + second.offset_ms - Date.now()) < 60_000, "the time once it is corrected");
  const state = await site.state(id);
  assert.deepEqual(state.set_aside ?? [], []);
  const said = state.flags.map((f) => f.text).join("\n");
  assert.match(said, unchecked);
  assert.match(said, corrected);
  await heard(phone, id, log.length);
  await phone.at(id, "/book");
  await phone.page.locator(".flags").getByText(/clock/).first().waitFor();
  await phone.end();
}

/** Records on one support by two phones that know nothing of each other, and sends in
 *  an order, the first answer to each lost. Answers what the figures are in the end,
 *  which must be the same everywhere. */
async function both(site, a, b, order) {
  const { id, office } = await site.house({ bearers: 1, supports: 3 });
  const setup = await office.record("setup", { instrument: "site laser", datums: [{ datum: "D1", staff: { value: 1400, unit: "mm" } }] });
  await office.record("reading", { setup, point: "B1-1", face: "bearer", staff: { value: 1430, unit: "mm" } });
  for (const phone of [a, b]) {
    await phone.openJob(id);
    await heard(phone, id, 5);
    await phone.context.setOffline(true);
  }
  await jack(a, id, "B1-1", "10");
  await read(b, id, "B1-1", "1421");
  await jack(b, id, "B1-1", "5");
  for (const phone of order) {
    await loseOneAnswer(phone);
    await phone.offline(false);
    await sendUntilAll(phone);
  }
  for (const phone of [a, b]) {
    await heard(phone, id, 8);
    await phone.at(id);
  }
  const state = comparable(await site.state(id));
  for (const phone of [a, b]) await same(phone, state);
  assert.equal((await site.log(id)).length, 8, "each is stored once");
  return state.supports.map((s) => [s.id, s.state, s.present?.mm, s.present?.sd_mm, s.to_go, s.doubt ?? ""]);
}

async function loseOneAnswer(phone) {
  let lost = false;
  await phone.context.route("**/api/v1/jobs/*/events", async (route) => {
    if (lost || route.request().method() !== "POST") return route.continue();
    lost = true;
    await route.fetch();
    await route.abort("connectionreset");
  });
}

/** Waits until the phone's picture of the job it shows is the server's. */
async function same(phone, state) {
  const until = Date.now() + 10_000;
  for (;;) {
    const shown = await picture(phone);
    if (shown.seq === state.seq || Date.now() > until) {
      assert.deepEqual(shown, state, "the phone's state and the server's");
      return;
    }
    await phone.page.waitForTimeout(100);
  }
}

/** Waits until a phone has heard of so many events of a job. */
async function heard(phone, job, count) {
  const until = Date.now() + 20_000;
  for (;;) {
    const n = (await phone.store()).heard.filter((h) => h.job === job).length;
    if (n >= count) return;
    assert.ok(Date.now() < until, `heard of ${n} of ${count}`);
    await kick(phone);
    await phone.page.waitForTimeout(150);
  }
}

function kick(phone) {
  return phone.page.evaluate(() => dispatchEvent(new Event("online")));
}

async function jack(phone, job, support, by) {
  await phone.at(job, `/do/jacking?support=${support}`);
  await phone.type(by);
  await phone.tap("It moved so far");
  await phone.page.getByRole("heading", { name: `${support}: ` }).waitFor();
}
