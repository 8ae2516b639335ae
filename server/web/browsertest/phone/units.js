// The unit that the firm reads is the phone's, until somebody chooses another there.
import assert from "node:assert/strict";
import { kept } from "./firm.js";
import { Phone } from "./phone.js";

export const units = {
  async "the firm's unit, and one of the phone's own"(site) {
    const { id, office } = await site.house();
    const setup = await office.record("setup", { instrument: "laser", datums: [{ datum: "D1", staff: { value: 4.21, unit: "ft" } }] });
    await office.record("reading", { setup, point: "B1-1", face: "bearer", staff: { value: 4.25, unit: "ft" } });
    await kept(site, { units: "ft" });
    try {
      const phone = await Phone.start(site);
      await phone.pair();
      await phone.openJob(id);
      assert.deepEqual(await said(phone, id), { drawn: "+0.04", phrase: "0.04 to go", typed: "in" });
      await choose(phone, "Inches, 1⁄16");
      assert.deepEqual(await said(phone, id), { drawn: "+1⁄2″", phrase: "1⁄2″ to go", typed: "in" });
      await phone.page.reload();
      assert.equal((await said(phone, id)).drawn, "+1⁄2″", "what was chosen is kept");
      await choose(phone, "Feet, hundredths");
      await kept(site, { units: "mm" });
      await phone.page.reload();
      assert.deepEqual(await said(phone, id), { drawn: "+12", phrase: "12 to go", typed: "mm" }, "who chose the firm's unit goes with the firm");
      await phone.end();
    } finally {
      await kept(site, { units: "mm" });
    }
  },
};

async function choose(phone, unit) {
  await phone.page.evaluate(() => (location.hash = "#/me"));
  await phone.tap(unit);
}

/** What the worker drew and said of a post, and what a rule's figure is typed in. */
async function said(phone, job) {
  await phone.at(job);
  const drawn = phone.page.locator("svg.floor [data-support=B1-1] text", { hasText: /^[+−]/ }).first(); // with its ±
  await drawn.waitFor();
  await phone.page.waitForTimeout(600); // what the office said arrives behind what was kept
  const figure = (await drawn.textContent()).replace(/ *±.*/, "");
  await phone.at(job, "/do/jacking?support=B1-1");
  const phrase = await phone.page.getByText(/ to go\./).first().textContent();
  const typed = await phone.page.getByRole("button", { name: /^Unit: / }).textContent();
  return { drawn: figure, phrase: phrase.slice(0, phrase.indexOf(" to go") + " to go".length), typed };
}
