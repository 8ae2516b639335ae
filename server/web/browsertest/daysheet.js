// The office's pages over many jobs in a real browser, at the width of a phone and of
// a desk: read, followed live, and gone through with keys alone. It prints what is
// wrong and exits 1.
import assert from "node:assert/strict";
import { readFileSync } from "node:fs";
import { createRequire } from "node:module";
import path from "node:path";
import { chromium } from "playwright-core";
import { runsOut } from "./narrow.js";

const site = JSON.parse(process.env.SITE);
const flags = ["--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run",
  "--disable-background-networking", "--disable-component-update", "--disable-sync"];
const axe = readFileSync(createRequire(import.meta.url).resolve("axe-core/axe.min.js"), "utf8");
const faults = [];
const api = (where, body) => fetch(`${site.url}/api/v1${where}`, {
  method: "POST", headers: { Authorization: `Bearer ${site.token}`, "Content-Type": "application/json" }, body: JSON.stringify(body),
});

// Nothing scrolls sideways, what can be touched is large enough, and axe finds nothing.
async function check(page, name) {
  const width = page.viewportSize().width;
  const found = await page.evaluate(() => {
    const out = [];
    const wide = document.documentElement.scrollWidth - innerWidth;
    if (wide > 0) out.push(`scrolls sideways by ${wide} px`);
    for (const e of document.querySelectorAll("a, button, select, summary, input:not([type=hidden])")) {
      if (e.matches(".past, [readonly]") || !e.checkVisibility()) continue;
      const box = e.getBoundingClientRect();
      if (box.height < 47.5 || box.width < 47.5) out.push(`${e.outerHTML.slice(0, 90)} is ${Math.round(box.width)} by ${Math.round(box.height)} px`);
    }
    return out;
  });
  await page.evaluate(axe);
  found.push(...await page.evaluate(async () => {
    const { violations } = await globalThis.axe.run(document, { runOnly: { type: "tag", values: ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"] } });
    return violations.flatMap((v) => v.nodes.map((n) => `${v.id}: ${n.html.slice(0, 120)}: ${n.failureSummary.slice(0, 200)}`));
  }));
  faults.push(...found.map((f) => `${name} at ${width} px: ${f}`));
  if (width < 600) faults.push(...(await runsOut(page)).map((f) => `${name} ${f}`));
  if (site.shots) await page.screenshot({ path: path.join(site.shots, `${name}-${width}.png`), fullPage: true });
}

async function open(page, where, name) {
  await page.goto(site.url + where);
  await check(page, name);
}

const line = (page, job) => page.locator(`tr[data-job="${job}"]`);

// Something is recorded: the line has it within a second, and a stop stands first.
async function follows(page, job, seq) {
  const began = Date.now();
  await site.record("note", { text: "the owner rang" });
  await page.waitForFunction(([id, n]) => document.querySelector(`tr[data-job="${id}"]`)?.dataset.seq === String(n), [job, seq]);
  const took = Date.now() - began;
  assert.match(await line(page, job).innerText(), /the owner rang/);
  await site.record("stop", { why: "a crack opened over the door", ask: "the engineer" });
  await page.locator("#first", { hasText: "a crack opened over the door" }).waitFor();
  assert.equal(await page.locator(".day-sheet tbody tr").first().getAttribute("data-job"), job, "the urgent job does not stand first");
  return took;
}

// With keys alone: past the head of the page, through the lines, to where one acts.
async function keys(page) {
  await page.goto(site.url);
  await page.keyboard.press("Tab");
  assert.equal(await page.evaluate(() => document.activeElement.className), "past");
  const reached = [];
  for (let i = 0; i < 60; i++) {
    await page.keyboard.press("Tab");
    const at = await page.evaluate(() => ({
      href: document.activeElement.getAttribute("href") ?? document.activeElement.id,
      seen: document.activeElement === document.body || getComputedStyle(document.activeElement).outlineStyle !== "none",
    }));
    assert.ok(at.seen, `nobody sees that ${at.href} has the keys`);
    reached.push(at.href);
    if (at.href?.startsWith(`/jobs/${site.job}/stops/`)) break;
  }
  for (const want of ["crew", "/new-job", "/diary", "/closed", `/jobs/${site.job}`]) assert.ok(reached.includes(want), `the keys do not come to ${want}: ${reached}`);
  await page.keyboard.press("Enter");
  await page.waitForURL(`**/jobs/${site.job}/stops/*`);
  await page.goto(site.url);
  await page.focus("#crew");
  await page.keyboard.press("ArrowDown");
  await page.keyboard.press("Tab");
  await page.keyboard.press("Enter");
  await page.waitForURL(/crew=/);
}

// A job is closed on its page, and leaves a sheet that is open.
async function closes(page, other) {
  await page.goto(`${site.url}/jobs/${site.job}/particulars`);
  await page.click("#closing button");
  assert.match(await page.locator("#why-wrong").innerText(), /missing/);
  await check(page, "particulars-wrong");
  await page.fill("#why", "paid");
  await page.selectOption("#recorder", { index: 1 });
  await page.click("#closing button");
  await page.locator("text=The job is closed").waitFor();
  await check(page, "particulars");
  await line(other, site.job).waitFor({ state: "detached" });
  await open(page, "/closed", "closed");
  await line(page, site.job).waitFor();
}

async function calendar(page) {
  await open(page, "/calendars", "calendars");
  await page.selectOption("#crew", { index: 1 });
  await page.fill("#name", "the wall");
  await page.click("main form button.main");
  const link = await page.locator("#link").inputValue();
  assert.match(await (await fetch(link)).text(), /^BEGIN:VCALENDAR\r\n/);
  await check(page, "calendars-made");
}

async function run() {
  let n = 0;
  site.record = async (kind, body) => {
    const id = crypto.randomUUID();
    const answer = await api(`/jobs/${site.job}/events`, { events: [{ id, job: site.job, kind, v: 1, at: new Date().toISOString(), device: site.device, device_seq: ++n, seen_seq: 0, by: site.person, body }] });
    const { results } = await answer.json();
    assert.equal(results?.[0].outcome, "stored");
  };
  const browser = await chromium.launch({ executablePath: site.chromium, args: flags });
  try {
    const [phone, desk] = await Promise.all([
      browser.newContext({ viewport: { width: 390, height: 844 }, hasTouch: true }),
      browser.newContext({ viewport: { width: 1280, height: 860 } }),
    ]);
    const pages = [await phone.newPage(), await desk.newPage()];
    for (const page of pages) {
      page.setDefaultTimeout(15_000);
      page.on("pageerror", (e) => faults.push(e.message));
      page.on("console", (m) => { if (m.type() === "error" && !/status of 422/.test(m.text())) faults.push(m.text()); });
      await page.goto(`${site.url}/enter#${site.token}`);
      await page.waitForURL(`${site.url}/`);
    }
    const [small, large] = pages;
    console.log(`an append stood on the open page after ${await follows(large, site.job, site.seq + 1)} ms`);
    for (const page of pages) {
      await open(page, "/", "daysheet");
      await open(page, "/diary", "diary");
    }
    await keys(large);
    await large.goto(site.url);
    await calendar(small);
    await closes(small, large);
    const dark = await browser.newContext({ viewport: { width: 1280, height: 860 }, colorScheme: "dark", storageState: await desk.storageState() });
    await open(await dark.newPage(), "/", "daysheet-dark");
  } finally {
    await browser.close();
  }
  assert.deepEqual(faults, []);
}

run().catch((e) => {
  console.error(e.message);
  process.exit(1);
});
