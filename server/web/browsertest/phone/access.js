// Whether everybody can read and touch it: by axe, by measuring, and with keys alone.
import assert from "node:assert/strict";
import { readFileSync } from "node:fs";
import { createRequire } from "node:module";
import path from "node:path";
import { ready, read } from "./faults.js";
import { Phone } from "./phone.js";
import { others, screens } from "./screens.js";

const axe = createRequire(import.meta.url).resolve("axe-core/axe.min.js");

export const access = {
  async "every screen, black and paper"(site) {
    const { phone, id } = await populated(site);
    const faults = [];
    await inject(phone);
    for (const theme of ["dark", "light"]) {
      await phone.page.evaluate((t) => (document.documentElement.dataset.theme = t), theme);
      for (const [name, where] of all(id)) {
        await show(phone, where);
        faults.push(...(await look(phone, `${name}, ${theme}`)));
        await shoot(site, phone, `${name}-${theme}`);
      }
    }
    assert.deepEqual(faults, []);
    await phone.end();
  },

  async "every screen at 320 px and with letters twice as large"(site) {
    const { phone, id } = await populated(site);
    const faults = [];
    await inject(phone);
    for (const [width, size, measure] of [[320, "", look], [360, "200%", boxes]]) {
      await phone.page.setViewportSize({ width, height: 740 });
      await phone.page.evaluate((s) => (document.documentElement.style.fontSize = s), size);
      for (const [name, where] of all(id)) {
        await show(phone, where);
        faults.push(...(await measure(phone, `${name}, ${width} px ${size}`)));
        if (size) await shoot(site, phone, `${name}-large`);
      }
    }
    assert.deepEqual(faults, []);
    await phone.end();
  },

  async "what is shown before there is a job"(site) {
    const phone = await Phone.start(site);
    await phone.visit();
    await phone.page.getByLabel("Code").waitFor();
    await inject(phone);
    const faults = await look(phone, "pairing");
    await shoot(site, phone, "pairing-dark");
    await phone.end();
    const tab = await Phone.start(site, { userAgent: "Mozilla/5.0 (iPhone; CPU iPhone OS 17_5 like Mac OS X) AppleWebKit/605.1.15 Version/17.5 Mobile/15E148 Safari/604.1" });
    await tab.visit();
    await tab.page.getByRole("heading", { level: 1 }).waitFor();
    await inject(tab);
    faults.push(...(await look(tab, "installing")));
    await shoot(site, tab, "installing-dark");
    assert.deepEqual(faults, []);
    await tab.end();
  },

  async "a reading by Tab and Enter alone"(site) {
    const { phone, id } = await ready(site, { bearers: 1, supports: 3 });
    await phone.page.setViewportSize({ width: 320, height: 640 });
    await phone.at(id);
    await tabTo(phone, /^Read along/);
    for (const digit of "1430") await tabTo(phone, new RegExp(`^${digit}$`));
    await tabTo(phone, /^Save B1-1/);
    await phone.page.getByText("Read: 1 of 3").waitFor();
    await phone.allSent();
    const [reading] = (await site.log(id)).map((e) => e.event).filter((e) => e.kind === "reading");
    assert.deepEqual(reading.body.staff, { value: 1430, unit: "mm" });
    await phone.end();
  },
};

/** A house where something has happened, so that no list is empty. */
async function populated(site) {
  const made = await ready(site);
  const { phone, id, office } = made;
  await read(phone, id, "B1-1", "1430");
  await office.record("stop", { why: "a crack opens", ask: "the engineer", supports: ["B1-2"] });
  await office.record("finding", { what: "rotten", supports: ["B1-1"] });
  await office.record("tie", { tie: "waste pipe", what: "cast pipe", supports: ["B1-3"] });
  await office.record("floor-cut", { cut: "C1", where: "hall" });
  await office.record("change", { text: "one more post" });
  await phone.page.evaluate(() => dispatchEvent(new Event("online")));
  await phone.page.locator(".stops").waitFor();
  await phone.allSent();
  return made;
}

function all(job) {
  return [...Object.entries(screens).map(([name, where]) => [name, `#/job/${job}${where}`]), ...Object.entries(others)];
}

async function show(phone, hash) {
  await phone.page.evaluate((h) => (location.hash = h), hash);
  await phone.page.waitForTimeout(250);
}

async function inject(phone) {
  // The page's own policy keeps strangers' scripts out; the driver puts this one in from outside.
  await phone.page.evaluate(readFileSync(axe, "utf8"));
}

// A drawing's label says in words what its figures are. A key that lies under the foot
// is scrolled to; sizes are measured below, and more strictly.
const rules = { "color-contrast-enhanced": { enabled: true }, "label-content-name-mismatch": { enabled: false }, "target-size": { enabled: false } };

async function look(phone, name) {
  const found = await phone.page.evaluate(async (rules) => {
    const { violations } = await globalThis.axe.run(document, { runOnly: { type: "tag", values: ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"] }, rules });
    return violations.flatMap((v) => v.nodes.map((n) => `${v.id}: ${n.target.join(" ")}`));
  }, rules);
  return [...found.map((f) => `${name}: ${f}`), ...(await boxes(phone, name))];
}

/** Sizes: nothing that is touched is under 48 px, keys are 64, what is next is 72, and
 *  no words stick out of their place. */
async function boxes(phone, name) {
  const found = await phone.page.evaluate(() => {
    const faults = [];
    const wide = document.documentElement.scrollWidth - innerWidth;
    if (wide > 0) faults.push(`scrolls sideways by ${wide} px`);
    for (const e of document.querySelectorAll("a, button, input, textarea, label.act")) {
      if (!e.checkVisibility() || e.matches("svg a, .pick input")) continue;
      const { width, height } = e.getBoundingClientRect();
      const least = e.closest(".keypad") ? 63.5 : e.matches(".act.main") ? 71.5 : 47.5;
      if (height < least || width < Math.min(least, 63.5)) faults.push(`${e.outerHTML.slice(0, 80)} is ${Math.round(width)} by ${Math.round(height)} px`);
    }
    for (const e of document.querySelectorAll(".act, h1, h2, p, label, .held, .figure, .entry > .of")) {
      const cut = e.scrollWidth - e.clientWidth;
      if (cut > 1 && e.checkVisibility() && getComputedStyle(e).display !== "inline") faults.push(`${e.outerHTML.slice(0, 80)} is cut by ${cut} px`);
    }
    return faults;
  });
  return found.map((f) => `${name}: ${f}`);
}

/** Goes on with Tab until what has that name has the focus, and presses Enter. All
 *  that has the focus on the way is marked, and in sight. */
async function tabTo(phone, name) {
  for (let i = 0; i < 60; i++) {
    await phone.page.keyboard.press("Tab");
    const at = await phone.page.evaluate(focused);
    if (!at) continue; // between the end and the beginning
    assert.ok(at.marked, `${at.name} has the focus and no mark`);
    assert.ok(at.inSight, `${at.name} has the focus and is covered`);
    if (!name.test(at.name)) continue;
    await phone.page.keyboard.press("Enter");
    return;
  }
  assert.fail(`Tab never came to ${name}`);
}

/** What has the focus. It runs in the page. */
function focused() {
  const e = document.activeElement;
  if (!e || e === document.body) return undefined;
  const outlined = (e) => getComputedStyle(e).outlineStyle !== "none" && parseFloat(getComputedStyle(e).outlineWidth) >= 2;
  // On the drawing a ring is drawn; where a file is chosen the label is marked.
  const ring = e.closest("svg") && e.querySelector(".touch");
  const shown = e.closest("label.pick") ?? ring ?? e;
  const box = shown.getBoundingClientRect();
  const there = document.elementFromPoint(box.x + box.width / 2, box.y + box.height / 2);
  return {
    name: (e.getAttribute("aria-label") ?? e.textContent).trim(),
    marked: outlined(shown) || (ring !== null && parseFloat(getComputedStyle(ring).strokeWidth) >= 2 && getComputedStyle(ring).stroke !== "none"),
    inSight: there !== null && (e.contains(there) || there.contains(e)),
  };
}

async function shoot(site, phone, name) {
  if (site.shots) await phone.page.screenshot({ path: path.join(site.shots, `${name}.png`) });
}
