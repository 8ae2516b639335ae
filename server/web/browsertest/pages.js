// Drives the pages in a real browser, at the width of a small phone and of a
// desk. The Go test that starts it says in SITE where the server is, what opens
// it and where screenshots go. It prints what is wrong and exits 1.
import assert from "node:assert/strict";
import path from "node:path";
import { chromium } from "playwright-core";

const site = JSON.parse(process.env.SITE);
const flags = ["--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run",
  "--disable-background-networking", "--disable-component-update", "--disable-sync"];
const job = `/jobs/${site.job}`;

// What no page may do.
class Watch {
  faults = [];
  left = []; // requests that the browser gave up, as it does when the page is left first

  of(page, name) {
    page.on("console", (m) => { if (m.type() === "error") this.faults.push(`${name}: console: ${m.text()}`); });
    page.on("pageerror", (e) => this.faults.push(`${name}: ${e.message}`));
    page.on("requestfailed", (r) => {
      if (r.url().endsWith("/live")) return;
      const fault = `${name}: ${r.url()}: ${r.failure()?.errorText}`;
      if (r.failure()?.errorText === "net::ERR_ABORTED") this.left.push({ url: r.url(), fault });
      else this.faults.push(fault);
    });
  }

  // What was given up because the page was left has to be there all the same.
  async all() {
    for (const { url, fault } of this.left) {
      const answer = await fetch(url, { headers: { Authorization: `Bearer ${site.token}` } });
      if (!answer.ok) this.faults.push(`${fault}, and it answers ${answer.status}`);
    }
    return this.faults;
  }

  // No page scrolls sideways, and all that can be touched is large enough.
  async check(page, name) {
    const found = await page.evaluate(() => {
      const faults = [];
      const wide = document.documentElement.scrollWidth - innerWidth;
      if (wide > 0) faults.push(`scrolls sideways by ${wide} px`);
      const touched = "a, button, select, summary, textarea, input:not([type=hidden]), label.file, label.yes";
      for (const e of document.querySelectorAll(touched)) {
        if (e.matches("input[type=file], input[type=checkbox], .past") || !e.checkVisibility()) continue;
        const box = (e.querySelector(":scope > .touch") ?? e).getBoundingClientRect();
        if (box.height < 47.5 || box.width < 47.5) {
          faults.push(`${e.outerHTML.slice(0, 90)} is ${Math.round(box.width)} by ${Math.round(box.height)} px`);
        }
      }
      return faults;
    });
    this.faults.push(...found.map((f) => `${name} at ${page.viewportSize().width} px: ${f}`));
    if (site.shots) await page.screenshot({ path: path.join(site.shots, `${name}-${page.viewportSize().width}.png`), fullPage: true });
  }
}

async function enter(page) {
  await page.goto(`${site.url}/enter#${site.token}`);
  await page.waitForURL(`${site.url}/`);
}

async function open(page, kind, support) {
  await page.goto(`${site.url}${job}/record/${kind}${support ? `?support=${support}` : ""}`);
}

async function save(page, words) {
  if (await page.locator("#recorder").inputValue() === "") await page.selectOption("#recorder", { index: 1 });
  await page.click("main form button.main");
  const said = await page.locator("[role=status]").innerText();
  assert.match(said, words);
}

// press follows a button on the drawing.
async function press(page, verb) {
  await page.click(`.on-drawing a:text-is("${verb}")`);
}

// A plan from nothing: a job is made, a grid is drawn and put in.
async function begin(page, watch) {
  await page.click("text=New job");
  await page.fill("#name", "A house");
  await page.click("main form button.main");
  await page.click("text=Put in a plan");
  await page.fill("#g-bearers", "2");
  await page.fill("#g-supports", "some");
  await page.click("text=Draw it");
  assert.match(await page.locator(".grid-start .wrong").innerText(), /whole number/);
  await page.fill("#g-supports", "3");
  await page.click("text=Draw it");
  await page.locator("svg.floor [data-support=B2-3]").waitFor();
  await watch.check(page, "grid");
  await save(page, /^Saved/);
  assert.equal(await page.locator("#floor [data-support]").count(), 6);
}

// What the firm calls level enough is added from the page of the firm.
async function levelEnough(page, watch) {
  await page.goto(`${site.url}/people`);
  await watch.check(page, "people");
  await page.goto(`${site.url}/firm`);
  await page.click("main >> text=Level enough");
  await page.fill("#title", "Old houses");
  await page.fill("#name", "old-house");
  await page.fill("[name='pairs[0].limit_mm']", "8");
  await page.fill("[name='pairs[0].over_m']", "2");
  await page.fill("[name='room.limit_mm']", "25");
  await page.click("text=More limits");
  await page.fill("[name='pairs[2].limit_mm']", "20");
  await page.fill("[name='pairs[2].over_m']", "10");
  await page.selectOption("[name='pairs[2].rule']", { label: "in proportion" });
  await watch.check(page, "profiles-new");
  await page.click("main form button.main");
  await page.locator("#own h3:text-is('Old houses')").waitFor();
  await watch.check(page, "profiles");
}

// A jack whose inspection is overdue is red on the list, and where a move is
// recorded; it is recorded again from there.
async function kit(page, watch) {
  await page.goto(`${site.url}/people`);
  await page.click("footer >> text=Kit");
  await page.fill("#name", "red bottle");
  await page.fill("[name=rated_kn]", "49");
  await page.fill("#inspected_on", "2020-01-05");
  await page.fill("#due_on", "2020-07-05");
  await page.click("#add button.main");
  await page.locator("#jacks .danger:has-text('overdue since 5 July 2020')").waitFor();
  await page.fill("#laser-name", "green line");
  await page.fill("[name=sd_mm_per_m]", "0.05");
  await page.fill("#laser-inspected_on", "2026-01-05");
  await page.click("#add-laser button.main");
  await page.locator("#lasers .jacks:has-text('green line')").waitFor();
  await watch.check(page, "kit");
  await open(page, "jacking", "B1-1");
  await page.click("text=A jack that is not in the kit");
  await watch.check(page, "jack-by-hand");
  await page.click(".danger a:has-text('Kit')");
  await page.click("#jacks a:has-text('red bottle')");
  assert.equal(await page.inputValue("[name=rated_kn]"), "49");
  await page.fill("#inspected_on", "2026-01-05");
  await page.fill("#due_on", "");
  await page.click("#add button.main");
  await page.locator("#jacks .jacks:not(:has(.danger))").waitFor();
}

// What holds a support down stands at it, and leads to what frees it.
async function tie(page, watch, support) {
  await open(page, "tie");
  await page.fill("[name=tie]", "waste");
  await page.fill("[name=what]", "waste pipe");
  await page.check(`[name=supports][value="${support}"]`);
  await watch.check(page, "tie");
  await save(page, /^Saved/);
  await page.click(".soon .do:has-text('Free first')");
  await save(page, /^Saved/);
  await page.goto(`${site.url}${job}/records`);
  await watch.check(page, "records");
}

// The laser is checked before it is set up, on two pegs, and the form for a half
// turn is one touch away.
async function instrument(page, watch) {
  await open(page, "instrument-check");
  await watch.check(page, "instrument-check");
  await page.click("text=By a half turn instead");
  await page.fill("[name=distance_m]", "30");
  await watch.check(page, "half-turn");
  await page.click("text=On two pegs instead");
  await page.fill("[name=instrument]", "laser");
  const read = { "mid.a": "1000", "mid.b": "1100", "off.a": "1002", "off.b": "1100.2", "off.to_a_m": "33", "off.to_b_m": "3" };
  for (const [name, value] of Object.entries(read)) await page.fill(`[name='${name}']`, value);
  await save(page, /^Saved/);
}

// One whole round at one support, on the phone.
async function round(page, watch, support) {
  await open(page, "setup");
  await page.fill("[name=instrument]", "laser");
  await page.fill("[name='datums[0].staff']", "1000");
  await watch.check(page, "setup");
  await save(page, /^Saved/);

  await open(page, "reading", support);
  await page.selectOption("[name=face]", "floor");
  await page.fill("[name='rows[0].staff']", "1012");
  await watch.check(page, "reading");
  await save(page, new RegExp(`${support}: 12 to go`));
  await tie(page, watch, support);
  await page.goto(`${site.url}${job}/supports/${support}`);

  await press(page, "Jack up");
  assert.equal(await page.locator(".stop-at b").innerText(), "1\u2009000");
  await page.fill("[name='moves[0].by']", "12");
  await watch.check(page, "jacking");
  await save(page, /^Saved/);
  assert.match(await page.locator("h1").innerText(), /on a jack/);

  await press(page, "Pack");
  await page.selectOption("[name=sort]", "final");
  await page.fill("[name='pieces[0].thickness']", "12");
  await page.check("[name=full_width]");
  await watch.check(page, "packing");
  await save(page, /^Saved/);

  await press(page, "Jack down");
  const [chooser] = await Promise.all([page.waitForEvent("filechooser"), page.click("text=Choose photos")]);
  await chooser.setFiles({ name: "after.jpg", mimeType: "image/jpeg", buffer: Buffer.from(site.photo, "base64") });
  await page.locator(".preview img").waitFor();
  await save(page, /^Saved/);
  assert.doesNotMatch(await page.locator("h1").innerText(), /on a jack/);
  await page.locator(".book .photo img").scrollIntoViewIfNeeded();
  await page.waitForFunction(() => document.querySelector(".book .photo img").naturalWidth > 0);
}

// A second page shows what the first records, without being asked.
async function live(page, other, watch, support) {
  await other.goto(`${site.url}${job}`);
  const seen = other.locator(`#floor [data-support="${support}"]`);
  await seen.waitFor();
  const streaming = other.waitForResponse((r) => r.url().endsWith("/live"));
  await other.reload();
  await streaming;
  await open(page, "reading", support);
  await page.selectOption("[name=face]", "floor");
  await page.fill("[name='rows[0].staff']", "1007");
  await save(page, new RegExp(`${support}: 7 to go`));
  await other.waitForFunction((s) => document.querySelector(`#floor [data-support="${s}"]`)?.textContent.includes("+7"), support);
  await watch.check(other, "job");
}

// The last line of the book is voided, and the figure is what it was.
async function undo(page, watch, support) {
  await page.goto(`${site.url}${job}/book`);
  await watch.check(page, "book");
  await page.locator("a.void").last().click();
  await page.fill("[name=why]", "read on the wrong support");
  await watch.check(page, "void");
  await save(page, /^Saved/);
  assert.equal(await page.locator("tr.struck .why").last().innerText(), "Void: read on the wrong support");
  await page.goto(`${site.url}${job}/supports/${support}`);
  assert.doesNotMatch(await page.locator("h1").innerText(), /7 to go/);
  await watch.check(page, "support");
}

// What to move next asks for what is not set; then two supports are pumped
// together and recorded on one form, and a page that looks on says so.
async function moves(page, other, watch, supports) {
  for (const support of supports) {
    await open(page, "reading", support);
    await page.selectOption("[name=face]", "floor");
    await page.fill("[name='rows[0].staff']", "1005");
    await save(page, /^Saved/);
  }
  await page.goto(`${site.url}${job}/moves`);
  await watch.check(page, "moves-asked");
  await page.click("text=Set them with the aim");
  await page.fill("[name=step_mm]", "5");
  await page.fill("[name=neighbour_mm]", "20");
  await page.click("details:has([name=jacks]) > summary");
  await page.fill("[name=jacks]", "2");
  await page.fill("[name=agreed_by]", "the owner");
  await save(page, /^Saved/);
  await watch.check(page, "moves");
  for (const support of supports) await page.locator(`svg.floor [data-support="${support}"] rect.order`).waitFor();
  await page.click(".together > .act");
  await watch.check(page, "jacking-together");
  assert.equal(await page.locator(".stop-at").count(), 2);
  for (const i of [0, 1]) {
    assert.equal(await page.locator(`[name='moves[${i}].by']`).inputValue(), "");
    await page.fill(`[name='moves[${i}].by']`, "5");
  }
  const streaming = other.waitForResponse((r) => r.url().endsWith("/live"));
  await other.goto(`${site.url}${job}/moves`);
  await streaming;
  await watch.check(other, "moves");
  await save(page, /^Saved/);
  assert.equal(new URL(page.url()).pathname, `${job}/moves`);
  await other.waitForFunction(() => !document.querySelector(".together"));
}

async function run() {
  const browser = await chromium.launch({ executablePath: site.chromium, args: flags });
  const watch = new Watch();
  try {
    const phone = await browser.newContext({ viewport: { width: 360, height: 740 }, hasTouch: true, colorScheme: "light" });
    const desk = await browser.newContext({ viewport: { width: 1280, height: 860 }, colorScheme: "dark" });
    const [small, large] = [await phone.newPage(), await desk.newPage()];
    for (const page of [small, large]) page.setDefaultTimeout(10_000);
    watch.of(small, "phone");
    watch.of(large, "desk");
    await enter(small);
    assert.equal(await small.evaluate(() => location.hash), "", "the access stays in the address");
    await enter(large);
    await watch.check(small, "jobs");
    await watch.check(large, "jobs");
    await levelEnough(small, watch);
    await large.goto(`${site.url}/profiles`);
    await watch.check(large, "profiles");
    await kit(small, watch);
    await large.goto(`${site.url}/kit`);
    await watch.check(large, "kit");
    await small.goto(site.url);
    await begin(small, watch);
    await instrument(small, watch);
    await round(small, watch, "B1-1");
    await live(small, large, watch, "B1-2");
    await undo(small, watch, "B1-2");
    await undo(large, watch, "B1-1");
    for (const page of [small, large]) {
      for (const drawn of ["lines", "shading"]) {
        await page.goto(`${site.url}${job}/${drawn}`);
        await watch.check(page, drawn);
      }
    }
    await moves(small, large, watch, ["B1-3", "B1-4"]);
    await small.goto(`${site.url}${job}`);
    await watch.check(small, "job");
  } finally {
    await browser.close();
  }
  assert.deepEqual(await watch.all(), []);
}

run().catch((e) => {
  console.error(e.message);
  process.exit(1);
});
