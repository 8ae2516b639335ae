// A phone speaks the words of its firm's region, without signal too, in what it says
// itself; what was typed it shows as it was typed.
import assert from "node:assert/strict";
import { kept } from "./firm.js";
import { Phone } from "./phone.js";
import { others, screens } from "./screens.js";

/** Words of other regions, as one looks for them. A pier or a post may be typed as what
 *  a support is. */
const foreign = {
  US: /\b(bearers?|packers?|pigst(y|ies)|blocking|staffs?|datums?|under the floor|stumps?|variations?|building (surveyor|inspector|control))\b/gi,
  AU: /\b(girders?|shims?|blocking|cribbing|rods?|benchmarks?|crawl space|piles?|posts?|change orders?|building (inspector|control))\b/gi,
};
const typed = "the bearer of the owner, by the staff";
/** What is called so everywhere: a post that carries a roof is no support of a floor. */
const everywhere = "post of the roof";

export const words = {
  async "the words of the firm's region, on every screen and without signal"(site) {
    const { id, office } = await site.house({ rooms: ["hall"], checked: false });
    await everything(office);
    try {
      await kept(site, { words: "US" });
      const phone = await Phone.start(site);
      phone.page.setDefaultTimeout(90_000); // it goes over all screens twice
      await phone.pair();
      await phone.openJob(id);
      await heard(phone, id, "the final shim");
      await phone.context.setOffline(true);
      await phone.page.reload();
      await speaks(phone, id, "US", ["girder", "rod", "shim", "cribbing", "benchmark", "crawl space", "inspector"]);
      await phone.context.setOffline(false);
      await kept(site, { words: "AU" });
      await phone.page.reload();
      await heard(phone, id, "the final packer");
      await speaks(phone, id, "AU", ["bearer", "staff", "packer", "pigsty", "datum", "under the floor", "building surveyor"]);
      await phone.end();
    } finally {
      await kept(site, {});
    }
  },
};

/** Something of all that phones have sentences for. */
async function everything(office) {
  const setup = await office.record("setup", { instrument: "laser", datums: [{ datum: "D1", staff: { value: 1000, unit: "mm" } }] });
  for (const point of ["B1-1", "B1-2"]) await office.record("reading", { setup, point, face: "bearer", staff: { value: 1012, unit: "mm" } });
  await office.record("blocking", { place: "K1", supports: ["B1-2"], what: "crossed hardwood", base: "sole plates" });
  await office.record("support-work", { support: "B1-2", step: "taken-out" });
  await office.record("support-work", { support: "B1-2", step: "dug" });
  await office.record("jacking", { moves: [{ support: "B1-1", by: { value: 12, unit: "mm" }, gauge: "rule" }] });
  await office.record("under-floor", { ground: "damp", clearance_mm: 400 });
  await office.record("finding", { what: typed, where: "B1-2" });
  await office.record("note", { text: typed, supports: ["B1-1"] });
}

/** Waits for the words of the region: what the office said arrives behind what was kept. */
async function heard(phone, job, words) {
  await phone.at(job, screens.support);
  await phone.page.waitForFunction((w) => document.body.innerText.includes(w), words);
}

/** Goes over all screens: none has a word of another region, and together they have
 *  those of this one, and what was typed. */
async function speaks(phone, job, region, own) {
  let all = "";
  const wrong = [];
  const look = async (name) => {
    const text = await phone.page.evaluate(read);
    all += ` ${text}`;
    for (const found of text.replaceAll(typed, "…").replaceAll(everywhere, "…").matchAll(foreign[region])) wrong.push(`${name}: ${text.slice(Math.max(0, found.index - 50), found.index + 40)}`);
  };
  for (const [name, where] of Object.entries(screens)) {
    await phone.at(job, where);
    await look(name);
    for (const more of await phone.page.getByRole("button", { name: /^(More|Final|The .* that stays)$/ }).all()) {
      await more.click();
      await look(name);
    }
  }
  for (const [name, hash] of Object.entries(others)) {
    await phone.page.evaluate((h) => (location.hash = h), hash);
    await phone.page.locator(".frame h1").first().waitFor();
    await look(name);
  }
  assert.deepEqual(wrong, []);
  for (const word of [...own, typed]) assert.match(all, new RegExp(word, "i"), `no screen of ${region} says ${word}`);
}

/** What people read of a page, or hear. */
function read() {
  const heard = [...document.querySelectorAll("[aria-label], [placeholder], svg title")].map((e) => e.getAttribute("aria-label") ?? e.getAttribute("placeholder") ?? e.textContent);
  return [document.body.innerText, ...heard].join(" ").replace(/\s+/g, " ");
}
