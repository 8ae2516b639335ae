// Draws plans in a real browser: by mouse, by keyboard alone, by touch. The Go test
// that starts it says in SITE where the server is and where screenshots go. It prints
// what it counted and what is wrong, and exits 1. Names of checks may be given.
import path from "node:path";
import { chromium } from "playwright-core";
import { between } from "./plan/between.js";
import { byKeyboard, byMouse, large } from "./plan/counted.js";
import { dragging } from "./plan/dragging.js";
import { faults, site } from "./plan/drawer.js";
import { everything } from "./plan/everything.js";
import { inTheHand } from "./plan/hand.js";
import { copied, under } from "./plan/under.js";

const flags = ["--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run",
  "--disable-background-networking", "--disable-component-update", "--disable-sync"];

const browser = await chromium.launch({ executablePath: site.chromium, args: flags });
const only = process.argv.slice(2);
try {
  for (const check of [byMouse, byKeyboard, everything, dragging, between, under, copied, inTheHand, large]) {
    if (only.length && !only.includes(check.name)) continue;
    try {
      await check(browser);
      console.log(`${check.name}: done`);
    } catch (e) {
      faults.push(`${check.name}: ${e.stack}`);
      if (site.shots) for (const c of browser.contexts()) for (const p of c.pages()) await p.screenshot({ path: path.join(site.shots, `fault-${check.name}.png`), fullPage: true });
    }
  }
} finally {
  await browser.close();
}
if (faults.length) {
  console.log(faults.join("\n"));
  process.exit(1);
}
