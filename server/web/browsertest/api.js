// Reads the description of the API in a real browser, at the width of a phone and of a
// desk, with the keyboard alone. The Go test that starts it says in SITE where the
// server is. It prints what is wrong and exits 1.
import assert from "node:assert/strict";
import path from "node:path";
import { createRequire } from "node:module";
import { chromium } from "playwright-core";

const site = JSON.parse(process.env.SITE);
const axe = createRequire(import.meta.url).resolve("axe-core/axe.min.js");
const flags = ["--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run",
  "--disable-background-networking", "--disable-component-update", "--disable-sync"];

async function check(page, name, measureOnly) {
  const width = page.viewportSize().width;
  const faults = await page.evaluate(() => {
    const found = [];
    const wide = document.documentElement.scrollWidth - innerWidth;
    if (wide > 0) found.push(`scrolls sideways by ${wide} px`);
    for (const e of document.querySelectorAll("a:not(.past), button, summary")) {
      const box = e.getBoundingClientRect();
      if (e.checkVisibility() && box.height < 47.5) found.push(`${e.outerHTML.slice(0, 90)} is ${box.height} px high`);
    }
    return found;
  });
  if (!measureOnly) await page.addScriptTag({ path: axe });
  // The rest of the page is more of the same, and a thousand lines long.
  const parts = ["header", "footer", "main > h1", ".contents", "#post-jobs-job-events", "#form-events\\.Reading", "#problems"];
  const { violations } = measureOnly ? { violations: [] } : await page.evaluate((include) => axe.run({ include }, { runOnly: ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"] }), parts);
  faults.push(...violations.map((v) => `${v.id}: ${v.help}: ${v.nodes[0].html.slice(0, 120)}`));
  if (site.shots) await page.screenshot({ path: path.join(site.shots, `${name}-${width}.png`), fullPage: name === "api-devices" });
  return faults.map((f) => `${name} at ${width} px: ${f}`);
}

// tabTo moves on by Tab until what has the focus matches.
async function tabTo(page, selector) {
  for (let i = 0; i < 400; i++) {
    await page.keyboard.press("Tab");
    if (await page.evaluate((s) => document.activeElement?.matches(s) ?? false, selector)) return;
  }
  assert.fail(`Tab does not reach ${selector}`);
}

async function read(browser, viewport, colorScheme) {
  const context = await browser.newContext({ viewport, colorScheme, bypassCSP: true }); // axe is no script of the site
  const page = await context.newPage();
  await page.goto(`${site.url}/enter#${site.token}`);
  await page.waitForURL(`${site.url}/`);
  await page.goto(`${site.url}/devices`);
  const faults = await check(page, "api-devices", true);
  await page.click("main a:text-is('API')");
  faults.push(...await check(page, "api", true));

  await tabTo(page, "a[href='#post-jobs-job-events']");
  await page.keyboard.press("Enter");
  await tabTo(page, "#post-jobs-job-events summary");
  await page.keyboard.press("Enter");
  const example = page.locator("#post-jobs-job-events pre").first();
  assert.match(await example.innerText(), /curl -X POST '.*\/api\/v1\/jobs\/.*\/events'/);
  faults.push(...await check(page, "api-operation", true));

  await page.click("#get-jobs-job-state a:has-text('Picture')");
  const form = page.locator("#form-Picture");
  await form.waitFor();
  await form.locator("summary").click();
  assert.match(await form.innerText(), /stops/);
  await page.locator("#form-events\\.Reading summary").click();
  assert.match(await page.locator("#form-events\\.Reading").innerText(), /"staff"/);
  await page.locator("#form-events\\.Reading").scrollIntoViewIfNeeded();
  faults.push(...await check(page, "api-kind"));
  await context.close();
  return faults;
}

async function run() {
  const browser = await chromium.launch({ executablePath: site.chromium, args: flags });
  try {
    const faults = await read(browser, { width: 1280, height: 900 }, "light");
    faults.push(...await read(browser, { width: 390, height: 844 }, "dark"));
    assert.deepEqual(faults, []);
  } finally {
    await browser.close();
  }
}

run().catch((err) => {
  console.error(err);
  process.exitCode = 1;
});
