// Who is told of what happens, in a real browser: one is made, tried, paused and
// deleted.
import assert from "node:assert/strict";
import { chromium } from "playwright-core";
import { Inspector } from "./inspect.js";

const site = JSON.parse(process.env.SITE);

async function hooks(page, inspector) {
  await page.goto(`${site.url}/hooks`);
  await page.fill("#name", "The bookkeeper");
  await page.fill("#url", "nowhere");
  await page.click("button:text-is('Add')");
  assert.match(await page.locator(".wrong").first().innerText(), /an address such as/);
  await inspector.look(page, "hooks-wrong");
  await page.fill("#url", `${process.env.LISTENER}/told`);
  await page.check("[value=stop]");
  await page.focus("[value=handover]");
  await page.keyboard.press("Space");
  await page.click("button:text-is('Add')");
  assert.match(await page.locator(".secret").innerText(), /^rlh_[0-9a-f]{64}$/);
  await inspector.look(page, "hooks-made");
  await page.click("#made >> text=Try it");
  await inspector.look(page, "hook-new");
  await page.click("text=Send a test");
  assert.match(await page.locator("#deliveries").innerText(), /204 No Content/);
  await inspector.look(page, "hook-tried");
  await page.click("text=Send again");
  assert.equal(await page.locator(".deliveries tbody tr").count(), 2);
  await page.click("button:text-is('Pause')");
  await page.locator("text=Tell it again").waitFor();
  await inspector.look(page, "hook-paused");
  await page.click("text=All who are told");
  await inspector.look(page, "hooks");
  await page.click("text=The bookkeeper");
  await page.click("text=Tell it nothing any more");
  await page.click("text=Delete The bookkeeper");
  await page.locator("text=Nobody yet").waitFor();
}

async function run() {
  const browser = await chromium.launch({ executablePath: site.chromium, args: ["--no-sandbox", "--disable-gpu", "--no-first-run"] });
  const inspector = new Inspector(site.shots);
  try {
    const page = await (await browser.newContext({ viewport: { width: 1280, height: 900 } })).newPage();
    page.setDefaultTimeout(10_000);
    inspector.watch(page);
    await page.goto(`${site.url}/enter#${site.token}`);
    await page.waitForURL(`${site.url}/`);
    await hooks(page, inspector);
  } finally {
    await browser.close();
  }
  assert.deepEqual(inspector.faults, []);
}

run().catch((e) => {
  console.error(e.message);
  process.exit(1);
});
