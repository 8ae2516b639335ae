// Drives the page on which anybody checks a bundle. The Go test that starts it says in
// SITE where the server is, in which folder the bundles lie and where screenshots go.
import assert from "node:assert/strict";
import { readFileSync } from "node:fs";
import { createRequire } from "node:module";
import path from "node:path";
import { chromium } from "playwright-core";

const site = JSON.parse(process.env.SITE);
const flags = ["--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking", "--disable-component-update", "--disable-sync"];
const axe = readFileSync(createRequire(import.meta.url).resolve("axe-core/axe.min.js"), "utf8");
const file = (name) => path.join(site.folder, name);
const faults = [];

async function look(page, name) {
  const width = page.viewportSize().width;
  const wide = await page.evaluate(() => document.documentElement.scrollWidth - innerWidth);
  if (wide > 0) faults.push(`${name} at ${width} px scrolls sideways by ${wide} px`);
  if (site.shots) await page.screenshot({ path: path.join(site.shots, `verify-${name}-${width}.png`), fullPage: true });
  if (!(await page.evaluate(() => "axe" in window))) await page.evaluate(axe);
  const { violations } = await page.evaluate(() => window.axe.run(document, { runOnly: ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"] }));
  faults.push(...violations.map((v) => `${name} at ${width} px: ${v.id}: ${v.nodes.map((n) => n.html.slice(0, 90)).join(" | ")}`));
}

async function answer(page, name) {
  await page.setInputFiles("#bundle", file(name));
  await page.waitForSelector("#report:not([hidden]) h2");
  return page.textContent("#report");
}

async function open(browser, width, height) {
  const page = await browser.newPage({ viewport: { width, height } });
  page.setDefaultTimeout(60_000);
  page.on("pageerror", (e) => faults.push(e.message));
  page.on("console", (m) => { if (m.type() === "error") faults.push(m.text()); });
  await page.goto(`${site.url}/verify`);
  await page.waitForFunction(() => document.getElementById("working").textContent === "" && !document.getElementById("verify").hidden);
  return page;
}

async function checks(browser, width, height) {
  const page = await open(browser, width, height);
  await look(page, "empty");
  // From here on there is no network, and nobody asks for any.
  await page.context().setOffline(true);
  const asked = [];
  page.on("request", (r) => asked.push(r.url()));
  assert.match(await answer(page, "good.zip"), /This bundle holds\..*not known to you/s);
  await look(page, "holds");
  assert.match(await answer(page, "changed.zip"), /does not hold\. First: events\/00000004\.json: record 4 \(note\) is not as it was sealed/);
  assert.equal(await page.getAttribute("#report", "class"), "changed");
  await look(page, "changed");
  assert.match(await answer(page, "letter.zip"), /It cannot be read: not a bundle/);
  await page.click("summary");
  await page.setInputFiles("#against", file("held.txt"));
  assert.match(await answer(page, "good.zip"), /continues the history of the checkpoint that you kept/);
  await look(page, "kept");
  await page.setInputFiles("#against", file("fork.txt"));
  await page.waitForFunction(() => document.getElementById("report").textContent.includes("There are two histories of this job"));
  assert.deepEqual(asked, [], "the page asked for something");
  await page.close();
}

// A file that is dropped is checked as one that is chosen.
async function dropped(browser) {
  const page = await open(browser, 1280, 800);
  const bytes = [...readFileSync(file("good.zip"))];
  await page.evaluate((bytes) => {
    const carried = new DataTransfer();
    carried.items.add(new File([new Uint8Array(bytes)], "good.zip"));
    document.body.dispatchEvent(new DragEvent("drop", { dataTransfer: carried, bubbles: true, cancelable: true }));
  }, bytes);
  await page.waitForSelector("#report:not([hidden]) h2");
  assert.match(await page.textContent("#report"), /This bundle holds/);
  await page.close();
}

// Of two files that were given one after the other, the last alone is told of.
async function overtaken(browser) {
  const page = await open(browser, 1280, 800);
  const both = ["good.zip", "changed.zip"].map((name) => [...readFileSync(file(name))]);
  const told = await page.evaluate((both) => new Promise((done) => {
    const report = document.getElementById("report");
    const told = [];
    new MutationObserver(() => {
      const heading = report.hidden ? undefined : report.querySelector("h2")?.textContent;
      if (!heading || heading === told.at(-1)) return;
      told.push(heading);
      if (/does not hold/.test(heading)) done(told);
    }).observe(report, { attributes: true, childList: true });
    for (const bytes of both) {
      const carried = new DataTransfer();
      carried.items.add(new File([new Uint8Array(bytes)], "bundle.zip"));
      document.body.dispatchEvent(new DragEvent("drop", { dataTransfer: carried, bubbles: true, cancelable: true }));
    }
  }), both);
  assert.equal(told.length, 1, `it tells ${told.join(", then ")}`);
  await page.close();
}

async function scriptless(browser) {
  const context = await browser.newContext({ javaScriptEnabled: false });
  const page = await context.newPage();
  await page.goto(`${site.url}/verify`);
  assert.match(await page.textContent("main"), /relevel verify FILE/);
  await context.close();
}

const browser = await chromium.launch({ executablePath: site.chromium, args: flags });
try {
  await checks(browser, 1280, 900);
  await checks(browser, 390, 844);
  await dropped(browser);
  await overtaken(browser);
  await scriptless(browser);
} finally {
  await browser.close();
}
assert.deepEqual(faults, []);
