// Drives the pages of what was found, stopped and changed, and the book, at the
// widths of a desk and of a phone. The Go test that starts it says in SITE where the
// server is, what opens it and where screenshots go.
import assert from "node:assert/strict";
import { readFileSync } from "node:fs";
import { createRequire } from "node:module";
import path from "node:path";
import { chromium } from "playwright-core";
import { runsOut } from "./narrow.js";

const site = JSON.parse(process.env.SITE);
const flags = ["--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking", "--disable-component-update", "--disable-sync"];
const job = `${site.url}/jobs/${site.job}`;
const axe = readFileSync(createRequire(import.meta.url).resolve("axe-core/axe.min.js"), "utf8");
const faults = [];

// What no page may do: scroll sideways, hold anything too small to touch, or be
// closed to those who cannot see or point.
async function look(page, name) {
  const width = page.viewportSize().width;
  const found = await page.evaluate(() => {
    const faults = [];
    const wide = document.documentElement.scrollWidth - innerWidth;
    if (wide > 0) faults.push(`scrolls sideways by ${wide} px`);
    for (const e of document.querySelectorAll("main a, main button, main select, main summary, main textarea, main input:not([type=hidden]), main label.file")) {
      if (e.matches("input[type=file], input[type=checkbox]") || !e.checkVisibility()) continue;
      const box = e.getBoundingClientRect();
      if (box.height < 47.5 || box.width < 47.5) faults.push(`${e.outerHTML.slice(0, 90)} is ${Math.round(box.width)} by ${Math.round(box.height)} px`);
      for (const o of document.querySelectorAll("main td a, main th a")) {
        if (o === e || !e.closest("td, th") || e.closest("tr") !== o.closest("tr")) continue;
        const b = o.getBoundingClientRect();
        if (b.left < box.right - 1 && box.left < b.right - 1 && b.top < box.bottom - 13 && box.top < b.bottom - 13) faults.push(`${e.textContent.trim()} lies on ${o.textContent.trim()}`);
      }
    }
    return faults;
  });
  faults.push(...found.map((f) => `${name} at ${width} px: ${f}`));
  if (width < 600) faults.push(...(await runsOut(page)).map((f) => `${name} ${f}`));
  if (site.shots) await page.screenshot({ path: path.join(site.shots, `${name}-${width}.png`), fullPage: true });
  if (!(await page.evaluate(() => "axe" in window))) await page.evaluate(axe);
  const { violations } = await page.evaluate(() => window.axe.run(document, { runOnly: ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"] }));
  faults.push(...violations.map((v) => `${name} at ${width} px: ${v.id}: ${v.nodes.map((n) => n.html.slice(0, 90)).join(" | ")}`));
}

async function enter(page) {
  page.setDefaultTimeout(30_000);
  page.on("pageerror", (e) => faults.push(e.message));
  await page.goto(`${site.url}/enter#${site.token}`);
  await page.waitForURL(`${site.url}/`);
}

async function press(page, words) {
  await page.click(`main a:text-is("${words}"), main button:text-is("${words}")`);
}

async function recorder(page) {
  if (await page.locator("#recorder").inputValue() === "") await page.selectOption("#recorder", { index: 1 });
}

// The wet wall is given to somebody, closed with what closed it, and opened again.
async function findings(page) {
  await page.goto(`${job}/findings`);
  await look(page, "findings");
  assert.match(await page.locator(".findings tr:has-text('Wet')").innerText(), /days over/);
  await page.selectOption("#state", "closed");
  await press(page, "Show");
  assert.match(await page.locator(".hides").innerText(), /Shown: closed\. 2 of 3 are not/);
  await look(page, "findings-closed");
  await press(page, "Show all");
  await page.click("td.what a:has-text('Wet')");
  await look(page, "finding");
  await press(page, "Give it to somebody, answer it");
  await page.selectOption("#f-owner", { index: 1 });
  await page.fill("#f-answer", "he comes on Thursday");
  await recorder(page);
  await look(page, "finding-form");
  await page.click("#reply button.main");
  assert.match(await page.locator("[role=status]").innerText(), /^Saved/);
  await press(page, "Close it");
  await page.click("#reply button.main");
  assert.match(await page.locator("#reply .field .wrong").first().innerText(), /missing/);
  await page.fill("#f-how", "joint renewed");
  await recorder(page);
  await page.click("#reply button.main");
  assert.match(await page.locator(".place").innerText(), /Closed: joint renewed/);
  await press(page, "Open it again");
  await page.fill("#f-answer", "it drips again");
  await recorder(page);
  await page.click("#reply button.main");
  await page.locator(".place:has-text('Open')").waitFor();
  await look(page, "finding-again");
  await page.goto(`${site.url}/findings`);
  await page.locator("td.what:has-text('Leaning')").waitFor();
  await look(page, "findings-of-firm");
  const wide = page.viewportSize();
  if (wide.width > 1000) {
    await page.setViewportSize({ width: 820, height: wide.height }); // links of one place lie below each other
    await look(page, "findings-of-firm");
    await page.setViewportSize(wide);
  }
}

// A stop is recorded, and ends only by who may end it.
async function stops(page) {
  await page.goto(`${job}/stops`);
  await press(page, "Stop");
  await page.fill("[name=why]", "an old packer may be asbestos sheet: nobody touches it");
  await page.fill("[name=ask]", "the assessor");
  await recorder(page);
  await page.click("main form button.main");
  await page.goto(`${job}/stops`);
  await look(page, "stops");
  await press(page, "Go ahead");
  assert.equal(await page.locator("#f-who").inputValue(), "the assessor");
  await page.fill("#f-who", "Una Office");
  await recorder(page);
  await page.click("#reply button.main");
  assert.match(await page.locator("#f-why-wrong").innerText(), /the assessor was named, so Una Office says why/);
  assert.equal(await page.locator("#f-who").inputValue(), "Una Office");
  await look(page, "stops-form");
  await page.fill("#f-why", "tested: no asbestos");
  await page.click("#reply button.main");
  await page.locator("text=Nothing is stopped.").waitFor();
  await look(page, "stops-ended");
}

// A change is put and answered, and stays as it was answered.
async function changes(page) {
  await page.goto(`${job}/changes`);
  await press(page, "Put a variation");
  await page.fill("[name=text]", "Paint on the skirting");
  await page.fill("[name=amount]", "90");
  await recorder(page);
  await page.click("main form button.main");
  await look(page, "changes");
  await page.click("td.what a:has-text('Paint')");
  await look(page, "change");
  await page.emulateMedia({ media: "print" });
  assert.ok(await page.locator(".to-sign").isVisible(), "nothing to sign on paper");
  assert.ok(!(await page.locator("main .acts").isVisible()), "buttons on paper");
  if (site.shots) await page.screenshot({ path: path.join(site.shots, `change-print-${page.viewportSize().width}.png`) });
  await page.emulateMedia({ media: "screen" });
  await press(page, "Record the answer");
  await page.fill("#f-name", "the owner");
  await page.fill("#f-how", "in writing");
  await recorder(page);
  await look(page, "change-form");
  await page.locator("#reply button:text-is('Declined')").press("Enter"); // by the keyboard
  await page.locator("td:has-text('Declined by the owner, in writing')").waitFor();
  assert.equal(await page.locator("text=Record the answer").count(), 0);
  await press(page, "Put another that follows it");
  assert.match(await page.locator("[name=follows] option:checked").innerText(), /Paint/);
}

// The book, by the keyboard alone: filtered, a line linked to, a line voided with
// what rests on it.
async function book(page) {
  await page.goto(`${job}/book`);
  await look(page, "book");
  await page.focus("#kind");
  await page.keyboard.type("Read");
  await page.keyboard.press("Tab");
  await page.keyboard.type("laser");
  await page.keyboard.press("Enter");
  await page.locator(".hides").waitFor();
  await page.goto(`${job}/book?kind=reading&struck=no`);
  assert.match(await page.locator(".hides").innerText(), /Shown: read, only what counts/);
  const shown = await page.locator("tr[id] td:nth-child(3)").allInnerTexts();
  assert.ok(shown.length >= 6 && shown.every((w) => w.startsWith("Read")), String(shown));
  await look(page, "book-filtered");
  await page.goto(`${job}/book`);
  const line = page.locator("tr:has-text('Set-up') a.no").first();
  const number = await line.innerText();
  await line.focus();
  await page.keyboard.press("Enter");
  await page.waitForURL((u) => u.hash === `#n${number}`);
  await page.locator(`#n${number} a.void`).focus();
  await page.keyboard.press("Enter");
  await page.locator("text=On it rest 6 readings").waitFor();
  await look(page, "void-resting");
  await page.goto(`${job}/book?text=nothing+like+it`);
  await look(page, "book-none");
}

async function run() {
  const browser = await chromium.launch({ executablePath: site.chromium, args: flags });
  try {
    for (const [width, height, colorScheme] of [[1280, 860, "light"], [390, 844, "light"], [1280, 860, "dark"]]) {
      const page = await (await browser.newContext({ viewport: { width, height }, colorScheme })).newPage();
      await enter(page);
      if (colorScheme === "dark") {
        for (const name of ["findings", "stops", "changes", "book"]) {
          await page.goto(`${job}/${name}`);
          await look(page, `${name}-dark`);
        }
        continue;
      }
      for (const part of [findings, stops, changes, book]) await part(page);
    }
  } finally {
    await browser.close();
  }
  assert.deepEqual(faults, []);
}

run().catch((e) => {
  console.error(e.message);
  process.exit(1);
});
