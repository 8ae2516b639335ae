// What every page of the office has to pass at both widths: nothing sideways, all
// that is touched large enough, no fault of axe, nothing in the console.
import { readFileSync } from "node:fs";
import { createRequire } from "node:module";
import path from "node:path";
import { runsOut } from "./narrow.js";

const axe = readFileSync(createRequire(import.meta.url).resolve("axe-core/axe.min.js"), "utf8");
const touched = "main a, main button, main select, main summary, main textarea, main input:not([type=hidden]):not([type=checkbox]):not([type=radio])";

export class Inspector {
  faults = [];
  constructor(shots) { this.shots = shots; }

  watch(page) {
    page.on("console", (m) => { if (m.type() === "error" && !/status of 4\d\d/.test(m.text())) this.faults.push(m.text()); });
    page.on("pageerror", (e) => this.faults.push(e.message));
  }

  // look inspects a page as it is, at the width of a desk and of a phone, and with
  // night also there by night.
  async look(page, name, night = false) {
    for (const [width, height] of [[1280, 900], [390, 844]]) {
      await page.setViewportSize({ width, height });
      await this.#inspect(page, name, width);
    }
    this.faults.push(...(await runsOut(page)).map((f) => `${name} ${f}`));
    if (!night) return;
    await page.emulateMedia({ colorScheme: "dark" });
    await this.#inspect(page, `${name}-night`, 390);
    await page.emulateMedia({ colorScheme: "light" });
  }

  async #inspect(page, name, width) {
    const found = await page.evaluate(measure, touched);
    found.push(...(await page.evaluate(axeFaults, axe)));
    this.faults.push(...found.map((f) => `${name} at ${width} px: ${f}`));
    if (this.shots) await page.screenshot({ path: path.join(this.shots, `${name}-${width}.png`), fullPage: true });
  }
}

function measure(touched) {
  const faults = [];
  const wide = document.documentElement.scrollWidth - innerWidth;
  if (wide > 0) faults.push(`scrolls sideways by ${wide} px`);
  for (const e of document.querySelectorAll(touched)) {
    if (!e.checkVisibility() || e.matches("svg a")) continue;
    const box = e.getBoundingClientRect();
    if (box.height < 47.5 || box.width < 47.5) faults.push(`${e.outerHTML.slice(0, 90)} is ${Math.round(box.width)} by ${Math.round(box.height)} px`);
  }
  return faults;
}

// The policy of the pages lets no other script in, so axe is run as text of our own.
async function axeFaults(axe) {
  if (!window.axe) new Function(axe).call(window);
  const { violations } = await window.axe.run({ runOnly: ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"] });
  return violations.map((v) => `${v.id}: ${v.nodes.map((n) => n.html.slice(0, 100)).join(" | ")}`);
}
