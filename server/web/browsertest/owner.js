// Drives the owner's page at the widths of a desk and of phones, by night, on paper,
// by keys and without script. The Go test that starts it says in SITE where the server
// is, what opens it and where screenshots go.
import assert from "node:assert/strict";
import { chromium } from "playwright-core";
import { Inspector } from "./inspect.js";

const site = JSON.parse(process.env.SITE);
const flags = ["--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking", "--disable-component-update", "--disable-sync"];
const address = `${site.url}/jobs/${site.job}/owner`;
const held = 500; // ms, longer than a short press

async function enter(page) {
  page.setDefaultTimeout(30_000);
  await page.goto(`${site.url}/enter#${site.token}`);
  await page.waitForURL(`${site.url}/`);
}

// where tells on which side the print from before lies.
const where = (page) => page.evaluate(() => {
  const [before, after] = [...document.querySelectorAll(".one-print img")].map((i) => i.getBoundingClientRect());
  assertLevel(before, after);
  return before.left < after.left ? "left" : "right";
  function assertLevel(a, b) {
    if (a.top !== b.top || a.height !== b.height || a.width !== b.width) throw new Error("the prints do not lie on one line");
  }
});

// Two prints change places while the button is held, and stay so after a short press.
async function swap(page) {
  const button = page.locator("[data-swap]").first();
  await button.scrollIntoViewIfNeeded();
  assert.equal(await where(page), "left");
  const box = await button.boundingBox();
  await page.mouse.move(box.x + box.width / 2, box.y + box.height / 2);
  await page.mouse.down();
  assert.equal(await where(page), "right");
  await page.waitForTimeout(held);
  await page.mouse.up();
  assert.equal(await where(page), "left");
  for (const key of ["Space", "Enter"]) {
    await button.focus();
    await page.keyboard.down(key);
    assert.equal(await where(page), "right", `${key} held`);
    await page.waitForTimeout(held);
    await page.keyboard.up(key);
    assert.equal(await where(page), "left", `${key} let go`);
  }
  await tap(button);
  assert.equal(await where(page), "right", "a short press stays");
  assert.equal(await button.getAttribute("aria-pressed"), "true");
  await tap(button);
  assert.equal(await where(page), "left");
  assert.equal(await button.getAttribute("aria-pressed"), "false");
}

// tap presses a key and lets it go at once, however slow the machine is.
const tap = (button) => button.evaluate((b) => {
  for (const type of ["keydown", "keyup"]) b.dispatchEvent(new KeyboardEvent(type, { key: "Enter", bubbles: true, cancelable: true }));
});

// The level line is one line over both prints, whatever their captions take.
async function levelLine(page) {
  const lines = await page.evaluate(() => [...document.querySelectorAll(".two-prints")].map((sheet) => [...sheet.querySelectorAll(".one-print a")].map((a) => {
    const box = a.getBoundingClientRect(), line = getComputedStyle(a, "::before");
    return { y: box.top + parseFloat(line.top), from: box.left + parseFloat(line.left), till: box.right - parseFloat(line.right) };
  })));
  assert.ok(lines.length > 0);
  for (const [a, b] of lines) {
    assert.ok(Math.abs(a.y - b.y) < 0.5, `the level line breaks from ${a.y} to ${b.y}`);
    assert.ok(a.till >= b.from - 0.5, `the level line has a gap from ${a.till} to ${b.from}`);
  }
}

// Figures are one key away, and a question leads to its answer.
async function byKeys(page) {
  await page.locator(".asked a").first().focus();
  await page.keyboard.press("Enter");
  assert.match(page.url(), /#wrong$/);
  const summary = page.locator("#wrong summary");
  await summary.focus();
  await page.keyboard.press("Enter");
  assert.ok(await page.locator("#wrong tbody").isVisible());
}

// On paper stand the figures too, and nothing that leads anywhere.
async function onPaper(page) {
  await page.emulateMedia({ media: "print", colorScheme: "light" });
  for (const width of [680, 720]) { // what A4 and Letter have between their margins
    await page.setViewportSize({ width, height: 1000 });
    const wide = await page.evaluate(() => document.documentElement.scrollWidth - innerWidth);
    assert.ok(wide <= 0, `${wide} px too wide for a sheet of ${width}`);
  }
  assert.ok(await page.locator("#done .facts-of tbody").isVisible(), "the figures are missing on paper");
  assert.ok(!(await page.locator("[data-swap]").first().isVisible()));
  assert.ok(!(await page.locator("header nav").isVisible()));
  for (const format of ["A4", "Letter"]) assert.ok((await page.pdf({ format })).length > 10_000);
  await page.emulateMedia({ media: "screen" });
}

// Without script all can be read, and both prints lie side by side.
async function withoutScript(browser, state, inspector) {
  const context = await browser.newContext({ javaScriptEnabled: false, storageState: state, viewport: { width: 390, height: 844 } });
  const page = await context.newPage();
  inspector.watch(page);
  await page.goto(address);
  assert.equal(await page.locator("article.owner section h2").count(), 15);
  assert.ok(!(await page.locator("[data-swap]").first().isVisible()));
  const [before, after] = [await page.locator(".one-print img").nth(0).boundingBox(), await page.locator(".one-print img").nth(1).boundingBox()];
  assert.ok(before.y === after.y && before.x + before.width <= after.x + 0.5, "the prints do not lie side by side");
  await page.locator("#moving summary").click();
  assert.ok(await page.locator("#moving tbody").isVisible());
  await context.close();
}

const browser = await chromium.launch({ executablePath: site.chromium, args: flags });
const inspector = new Inspector(site.shots);
try {
  const context = await browser.newContext();
  const page = await context.newPage();
  inspector.watch(page);
  await enter(page);
  await page.goto(address);
  await inspector.look(page, "owner", true);
  for (const details of await page.locator("details").all()) await details.evaluate((d) => { d.open = true; });
  await inspector.look(page, "owner-figures", true);
  await page.goto(address);
  for (const width of [1280, 390, 360]) {
    await page.setViewportSize({ width, height: 844 });
    await levelLine(page);
    await swap(page);
  }
  await byKeys(page);
  await page.goto(address);
  await onPaper(page);
  await withoutScript(browser, await context.storageState(), inspector);
} finally {
  await browser.close();
}
assert.deepEqual(inspector.faults, []);
