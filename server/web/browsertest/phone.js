// Checks the phone app in a real browser against the real server. The Go test that
// starts it says in SITE where that is. A line a check; those that failed say what
// was wrong, and the exit status is 1. With names as arguments only those run.
import path from "node:path";
import { access } from "./phone/access.js";
import { budgets } from "./phone/budgets.js";
import { clocks } from "./phone/clocks.js";
import { codes } from "./phone/codes.js";
import { faults } from "./phone/faults.js";
import { floor } from "./phone/floor.js";
import { measured } from "./phone/measured.js";
import { photos } from "./phone/photos.js";
import { offline } from "./phone/offline.js";
import { Phone } from "./phone/phone.js";
import { recorders } from "./phone/recorders.js";
import { sounds } from "./phone/sounds.js";
import { Site } from "./phone/site.js";
import { stops } from "./phone/stops.js";
import { units } from "./phone/units.js";
import { windows } from "./phone/windows.js";
import { words } from "./phone/words.js";

const site = new Site(JSON.parse(process.env.SITE));
const wanted = process.argv.slice(2);
const checks = Object.entries({ ...offline, ...recorders, ...faults, ...clocks, ...windows, ...photos, ...sounds, ...codes, ...access, ...floor, ...stops, ...units, ...words, ...budgets }).filter(([name]) => wanted.length === 0 || wanted.includes(name));

/** Fails a check that hangs, and leaves the others their time. */
function within(ms, work) {
  let timer;
  const late = new Promise((_, failed) => (timer = setTimeout(failed, ms, new Error(`it was not done after ${ms / 1000} s`))));
  return Promise.race([work, late]).finally(() => clearTimeout(timer));
}

let failed = 0;
for (const [name, check] of checks) {
  const begun = performance.now();
  try {
    await within(240_000, check(site));
    console.log(`ok ${name} ${((performance.now() - begun) / 1000).toFixed(1)} s`);
  } catch (e) {
    failed++;
    console.log(`FAILED ${name}: ${e.stack}`);
  }
  await Phone.leaveAll(async (phone) => {
    console.log(`  the phone was at ${phone.page.url()} and complained of: ${phone.faults.join("; ") || "nothing"}`);
    if (site.shots) await phone.page.screenshot({ path: path.join(site.shots, `failed ${name}.png`) });
  });
}
for (const line of measured) console.log(line);
if (checks.length === 0) throw new Error(`no check is called ${wanted.join(", ")}`);
process.exit(failed ? 1 : 0);
