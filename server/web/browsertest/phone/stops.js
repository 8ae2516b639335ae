// A stop that somebody else gave stands over the next step, keeps nobody from
// recording, and goes with the go-ahead of who may give it.
import assert from "node:assert/strict";
import path from "node:path";
import { Phone } from "./phone.js";

export const stops = {
  async "a stop stands over the next step until the go-ahead"(site) {
    const { id: office } = await site.api("POST", "/people", { name: "Una Office", role: "office" });
    const { id, office: desk } = await site.house({ bearers: 1, supports: 3 });
    const phone = await Phone.start(site);
    await phone.pair();
    await phone.openJob(id);
    await phone.at(id, "/support/B1-2");
    assert.equal(await phone.page.locator(".stops").count(), 0);

    const stop = await desk.record("stop", { why: "something cracks over the door", supports: ["B1-2"], ask: "the engineer" });
    const shown = phone.page.locator(".stops a");
    await hear(phone);
    await shown.waitFor();
    assert.match(await shown.innerText(), /Stop at B1-2:\s+something cracks over the door\. Go-ahead by the engineer, or by the office with a reason/);
    await over(phone, ".screen");
    if (site.shots) await phone.page.screenshot({ path: path.join(site.shots, "phone-stop.png") });
    await phone.at(id);
    await over(phone, ".screen");

    await phone.at(id, "/do/jacking?support=B1-2");
    await phone.type("2");
    await phone.tap("It moved so far");
    await phone.page.getByRole("heading", { name: "B1-2: " }).waitFor();
    await phone.allSent();
    const { flags } = await site.state(id);
    assert.ok(flags.some((f) => f.text === "B1-2 was moved while stopped"), `recorded and flagged: ${JSON.stringify(flags)}`);

    const enough = await desk.record("go-ahead", { stop, who: "a hand" });
    await phone.at(id, "/support/B1-2");
    await hear(phone);
    const { seq } = await site.state(id);
    while (!(await phone.store()).heard.some((e) => e.job === id && e.seq === seq)) await phone.page.waitForTimeout(100);
    await phone.at(id, "/support/B1-2"); // with its figures reckoned
    assert.equal(await phone.page.locator(".stops a").count(), 1, `the stop stays after the go-ahead ${enough} of a hand without a reason`);

    await shown.click();
    assert.equal(await phone.page.getByRole("button", { name: "Una Office" }).isDisabled(), true, "the office says why");
    assert.equal(await phone.page.getByRole("button", { name: site.person }).count(), 0, "who leads the site may not end it");
    await phone.page.getByLabel("Somebody of the office says so, because").fill("plaster only");
    if (site.shots) await phone.page.screenshot({ path: path.join(site.shots, "phone-go-ahead.png") });
    await phone.tap("Una Office");
    await phone.page.waitForFunction(() => !location.hash.includes("go-ahead"));
    await phone.page.locator(".stops").waitFor({ state: "detached" });
    await phone.allSent();
    const state = await site.state(id);
    assert.equal(state.stops, undefined);
    const [, given] = state.halts[0].go_aheads;
    assert.deepEqual([given.who, given.who_of, given.why, given.ended], ["Una Office", office, "plaster only", true]);
    await phone.end();
  },

  async "a go-ahead elsewhere takes the stop away by itself"(site) {
    const { id, office: desk } = await site.house({ bearers: 1, supports: 3 });
    const stop = await desk.record("stop", { why: "water", ask: "the engineer" });
    const phone = await Phone.start(site);
    await phone.pair();
    await phone.openJob(id);
    await phone.page.locator(".stops a").waitFor();
    await desk.record("go-ahead", { stop, who: "the engineer, by telephone" });
    await hear(phone);
    await phone.page.locator(".stops").waitFor({ state: "detached" });
    await phone.end();
  },
};

/** The phone asks for what is new, as it does by itself every 45 s. */
async function hear(phone) {
  await phone.page.evaluate(() => dispatchEvent(new Event("online")));
}

/** The stop lies above what is next, and is seen without scrolling. */
async function over(phone, next) {
  const stop = await phone.page.locator(".stops").boundingBox();
  const below = await phone.page.locator(next).boundingBox();
  assert.ok(stop.y >= 0 && stop.y + stop.height <= below.y + 1, `the stop at ${stop.y} with ${stop.height} px, what is next at ${below.y}`);
}
