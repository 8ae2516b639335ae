// Whether everybody can read and touch it: by axe, by measuring, and with keys alone.
import assert from "node:assert/strict";
import { readFileSync } from "node:fs";
import { createRequire } from "node:module";
import path from "node:path";
import { ready, read } from "./faults.js";
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
    for (const [width, size] of [[320, ""], [360, "200%"]]) {
      await phone.page.setViewportSize({ width, height: 740 });
      await phone.page.evaluate((s) => (document.documentElement.style.fontSize = s), size);
      for (const [name, where] of all(id)) {
        await show(phone, where);
        faults.push(...(await boxes(phone, `${name}, ${width} px ${size}`)));
        if (size) await shoot(site, phone, `${name}-large`);
      }
    }
    assert.deepEqual(faults, []);
    await phone.end();
  },

  async "a reading with keys alone"(site) {
    const { phone, id } = await ready(site);
    await phone.at(id, "/do/reading?support=B1-1");
    await phone.page.getByRole("group", { name: "Keypad" }).waitFor();
    await phone.page.keyboard.press("Backspace");
    for (let i = 0; i < 5; i++) await phone.page.keyboard.press("Backspace");
    await phone.page.keyboard.type("1430");
    const save = phone.page.getByRole("button", { name: "Save B1-1" });
    for (let i = 0; i < 60 && !(await save.evaluate((b) => b === document.activeElement)); i++) {
      await phone.page.keyboard.press("Tab");
      const seen = await phone.page.evaluate(() => {
        const e = document.activeElement;
        return e === document.body || getComputedStyle(e).outlineStyle !== "none" || getComputedStyle(e.parentElement).outlineStyle !== "none";
      });
      assert.ok(seen, "what has the focus is not to be seen");
    }
    await phone.page.keyboard.press("Enter");
    await phone.page.getByRole("heading", { name: "B1-1: " }).waitFor();
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

/** Sizes: nothing that is touched is under 48 px, keys are 64, what is next is 72. */
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
    return faults;
  });
  return found.map((f) => `${name}: ${f}`);
}

async function shoot(site, phone, name) {
  if (site.shots) await phone.page.screenshot({ path: path.join(site.shots, `${name}.png`) });
}
