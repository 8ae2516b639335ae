// Drives the pages on which the office goes through a job, at the width of a small
// phone and of a desk: nothing scrolls sideways, all that can be touched is large
// enough, axe finds nothing, each prints, and photos are gone through by keyboard.
// The Go test that starts it says in SITE where the server is and in EMPTY which
// job has nothing on it yet. It prints what is wrong and exits 1.
import assert from "node:assert/strict";
import { readFileSync } from "node:fs";
import { createRequire } from "node:module";
import path from "node:path";
import { chromium } from "playwright-core";
import { runsOut } from "./narrow.js";

const site = JSON.parse(process.env.SITE);
const axe = readFileSync(createRequire(import.meta.url).resolve("axe-core/axe.min.js"), "utf8");
const flags = ["--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run",
  "--disable-background-networking", "--disable-component-update", "--disable-sync"];
const pages = ["lines", "shading", "schedule", "choices", "offer", "condition", "safety", "ties", "incidents", "below",
  "inspections", "crew-sheet", "photos", "handover", "pack", "checkpoint", "shares"];
const faults = [];

function watch(page, name) {
  page.on("console", (m) => { if (m.type() === "error") faults.push(`${name}: console: ${m.text()}`); });
  page.on("pageerror", (e) => faults.push(`${name}: ${e.message}`));
}

// What no page may do.
async function check(page, name) {
  const found = await page.evaluate(() => {
    const bad = [];
    const wide = document.documentElement.scrollWidth - innerWidth;
    if (wide > 0) bad.push(`scrolls sideways by ${wide} px`);
    for (const e of document.querySelectorAll("a, button, select, summary, textarea, input:not([type=hidden]), label.yes")) {
      if (e.matches("input[type=file], input[type=checkbox], .past") || !e.checkVisibility()) continue;
      const box = (e.querySelector(":scope > .touch") ?? (e.type === "radio" ? e.closest("label") : e)).getBoundingClientRect(); // a radio is chosen by its label
      if (box.height < 47.5 || box.width < 47.5) bad.push(`${e.outerHTML.slice(0, 90)} is ${Math.round(box.width)} by ${Math.round(box.height)} px`);
    }
    return bad;
  });
  await page.evaluate(axe);
  // What a post is called says in words what stands beside it as figures ("11 to go"
  // for "+11"); the rule that wants the same letters is an experiment of axe.
  const { violations } = await page.evaluate(() => globalThis.axe.run(document, {
    runOnly: ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"], rules: { "label-content-name-mismatch": { enabled: false } },
  }));
  for (const v of violations) found.push(`${v.id}: ${v.nodes.map((n) => n.target.join(" ")).slice(0, 3).join("; ")}`);
  faults.push(...found.map((f) => `${name} at ${page.viewportSize().width} px: ${f}`));
  if (page.viewportSize().width < 600) faults.push(...(await runsOut(page)).map((f) => `${name} ${f}`));
}

async function shoot(page, name) {
  if (!site.shots) return;
  await page.evaluate(async () => { for (const i of document.images) { i.loading = "eager"; await i.decode().catch(() => {}); } });
  await page.screenshot({ path: path.join(site.shots, `${name}-${page.viewportSize().width}.png`), fullPage: true });
}

// A page printed is no wider than its paper, and holds something.
async function printed(page, name) {
  const pdf = await page.pdf({ format: "A4", path: site.shots ? path.join(site.shots, `${name}.pdf`) : undefined });
  const sheets = pdf.toString("latin1").match(/\/Type\s*\/Page[^s]/g)?.length ?? 0;
  if (sheets < 1 || sheets > 6) faults.push(`${name} prints on ${sheets} sheets`);
  return sheets;
}

// Every page is reached in words from the job's own.
async function around(page, job) {
  await page.goto(`${site.url}/jobs/${job}`);
  const ways = await page.locator("nav.around a").evaluateAll((all) => all.map((a) => a.getAttribute("href")));
  for (const name of pages) {
    if (!ways.includes(`/jobs/${job}/${name}`)) faults.push(`the job's page does not lead to ${name}`);
  }
}

// Photos are gone through with the arrow keys, and left with Escape.
async function keys(page, job) {
  await page.goto(`${site.url}/jobs/${job}/photos?of=B1-2`);
  await page.locator(".print a").first().focus();
  await page.keyboard.press("Enter");
  await page.locator("h1:has-text('1 of 3')").waitFor();
  await page.waitForFunction(() => document.querySelector(".large img").naturalWidth > 0);
  await page.keyboard.press("ArrowRight");
  await page.locator("h1:has-text('2 of 3')").waitFor();
  await page.keyboard.press("ArrowRight");
  await page.locator("h1:has-text('3 of 3')").waitFor();
  await page.keyboard.press("ArrowLeft");
  await page.locator("h1:has-text('2 of 3')").waitFor();
  await check(page, "shot");
  await shoot(page, "shot");
  await page.keyboard.press("Escape");
  await page.waitForURL(/\/photos\?of=B1-2$/);
}

// What holds the floor down is freed from its line, and the page says so.
async function free(page, job) {
  await page.goto(`${site.url}/jobs/${job}/ties`);
  await page.click("tr:has(th:text-is('waste')) >> text=Free it");
  assert.equal(await page.locator("[name=tie]").inputValue(), "waste");
  if (await page.locator("#recorder").inputValue() === "") await page.selectOption("#recorder", { index: 1 });
  await page.click("main form button.main");
  await page.waitForURL(/\/ties\?saved=/);
  await page.locator("tr:has(th:text-is('waste')) >> text=Put it back").waitFor();
}

// An aim that was agreed on a floor that had changed meanwhile does not stand.
async function decide(page, other, job) {
  await page.goto(`${site.url}/jobs/${job}/record/aim`);
  await page.fill("[name=agreed_by]", "the owner");
  await other.goto(`${site.url}/jobs/${job}/record/note`);
  await other.fill("[name=text]", "the hearth is loose");
  if (await other.locator("#recorder").inputValue() === "") await other.selectOption("#recorder", { index: 1 });
  await other.click("main form button.main");
  await other.locator("[role=status]").waitFor();
  if (await page.locator("#recorder").inputValue() === "") await page.selectOption("#recorder", { index: 1 });
  await page.click("main form button.main");
  await page.locator("#between >> text=the hearth is loose").waitFor();
  await check(page, "between");
  await shoot(page, "between");
  assert.equal(await page.inputValue("[name=agreed_by]"), "the owner");
  await page.click("main form button.main");
  await page.locator("[role=status]").waitFor();
}

const browser = await chromium.launch({ executablePath: site.chromium, args: flags });
try {
  for (const width of [1280, 390]) {
    const context = await browser.newContext({ viewport: { width, height: 860 } });
    const page = await context.newPage();
    await page.goto(`${site.url}/enter#${site.token}`);
    await page.waitForURL(`${site.url}/`);
    watch(page, `at ${width} px`);
    await around(page, site.job);
    for (const name of pages) {
      await page.goto(`${site.url}/jobs/${site.job}/${name}`);
      await check(page, name);
      await shoot(page, name);
      if (width === 1280) await printed(page, name);
      if (width === 1280) continue;
      await page.goto(`${site.url}/jobs/${process.env.EMPTY}/${name}`);
      await check(page, `${name}, empty`);
    }
    await page.goto(`${site.url}/jobs/${site.job}/schedule?soil=sand%2C+loose&thickness_mm=300&bag_litres=9`);
    await page.click("summary:has-text('What is priced')");
    await check(page, "schedule-asked");
    await shoot(page, "schedule-asked");
    await keys(page, site.job);
    await context.close();
  }
  const context = await browser.newContext({ viewport: { width: 1280, height: 860 }, colorScheme: "dark" });
  const [page, other] = [await context.newPage(), await context.newPage()];
  await page.goto(`${site.url}/enter#${site.token}`);
  await page.waitForURL(`${site.url}/`);
  for (const name of ["photos", "condition", "schedule"]) {
    await page.goto(`${site.url}/jobs/${site.job}/${name}`);
    await check(page, `${name}, by night`);
    await shoot(page, `night-${name}`);
  }
  await free(page, site.job);
  await decide(page, other, site.job); // answers 409 once, which the console tells
} finally {
  await browser.close();
}
if (faults.length > 0) {
  console.log(faults.join("\n"));
  process.exit(1);
}
