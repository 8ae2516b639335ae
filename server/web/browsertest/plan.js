// Draws plans in a real browser: by mouse, by keyboard alone, by touch. The Go test
// that starts it says in SITE where the server is and where screenshots go. It prints
// what it counted and what is wrong, and exits 1.
import assert from "node:assert/strict";
import { randomUUID } from "node:crypto";
import { readFile } from "node:fs/promises";
import { createRequire } from "node:module";
import path from "node:path";
import { chromium } from "playwright-core";

const site = JSON.parse(process.env.SITE);
const flags = ["--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run",
  "--disable-background-networking", "--disable-component-update", "--disable-sync"];
const desk = { width: 1280, height: 900 }, hand = { width: 390, height: 844 };
const axe = await readFile(createRequire(import.meta.url).resolve("axe-core/axe.min.js"), "utf8");
const faults = [];

async function api(method, where, body) {
  const answer = await fetch(`${site.url}/api/v1${where}`, { method, ...(body ? { body: JSON.stringify(body) } : {}), headers: { Authorization: `Bearer ${site.token}`, "Content-Type": "application/json" } });
  assert.ok(answer.ok, `${method} ${where}: ${answer.status}`);
  return answer.json();
}

class Job {
  static async begin(name) {
    const { id } = await api("POST", "/jobs", { name, zone: "Australia/Sydney" });
    return new Job(id);
  }

  constructor(id) {
    this.id = id;
    this.page = `${site.url}/jobs/${id}`;
    this.device = id7();
    this.count = 0;
  }

  /** What a phone records. */
  async post(kind, body) {
    const id = id7();
    const { results } = await api("POST", `/jobs/${this.id}/events`, { events: [{ id, job: this.id, kind, v: 1, at: new Date().toISOString(), device: this.device, device_seq: ++this.count, seen_seq: 0, by: site.person, body }] });
    assert.equal(results[0].outcome, "stored", JSON.stringify(results));
    return id;
  }

  state() {
    return api("GET", `/jobs/${this.id}/state`);
  }

  async plan() {
    return (await this.state()).plan;
  }
}

function id7() {
  const time = Date.now().toString(16).padStart(12, "0");
  return `${time.slice(0, 8)}-${time.slice(8)}-7${randomUUID().slice(15)}`;
}

const grid = (bearers, each) => {
  const plan = { supports: [], bearers: [] };
  for (let b = 1; b <= bearers; b++) {
    const names = Array.from({ length: each }, (_, i) => `B${b}-${i + 1}`);
    names.forEach((id, i) => plan.supports.push({ id, x: 1.5 * i, y: 1.8 * (b - 1) }));
    plan.bearers.push({ id: `B${b}`, supports: names });
  }
  return plan;
};

/** One who draws: a page, and how much was pressed on it. */
class Drawer {
  pressed = 0;

  static async enter(browser, size, more = {}) {
    const context = await browser.newContext({ viewport: size, colorScheme: "light", ...more });
    const page = await context.newPage();
    page.on("console", (m) => { if (m.type() === "error" && !/status of 4(09|22)/.test(m.text())) faults.push(`console: ${m.text()}`); });
    page.on("pageerror", (e) => faults.push(`page: ${e.message}`));
    await page.goto(`${site.url}/enter#${site.token}`);
    await page.waitForURL(`${site.url}/`);
    return new Drawer(page);
  }

  constructor(page) {
    this.page = page;
  }

  async open(job) {
    await this.page.goto(`${job.page}/plan`);
    await this.page.waitForSelector(".plan-sheet");
    await this.page.waitForFunction(() => !document.querySelector(".plan-checks") || document.querySelector(".plan-checks li"));
    this.pressed = 0;
  }

  async click(selector) {
    this.pressed++;
    await this.page.click(selector);
  }

  async press(...keys) {
    for (const key of keys) {
      this.pressed++;
      await this.page.keyboard.press(key);
    }
  }

  async type(text) {
    this.pressed += text.length;
    await this.page.keyboard.type(text);
  }

  /** Where a thing is drawn, in the window. */
  async at(key) {
    const box = await this.page.locator(`.plan-sheet [data-key="${key}"] .halo`).first().boundingBox();
    assert.ok(box, `${key} is not drawn`);
    return { x: box.x + box.width / 2, y: box.y + box.height / 2 };
  }

  /** A place of the sheet, as shares of its sides. */
  async on(right, down) {
    const box = await this.page.locator(".plan-sheet").boundingBox();
    return { x: box.x + box.width * right, y: box.y + box.height * down };
  }

  async tap(at) {
    this.pressed++;
    await this.page.mouse.click(at.x, at.y);
  }

  async drag(from, to, meanwhile) {
    this.pressed++;
    await this.page.mouse.move(from.x, from.y);
    await this.page.mouse.down();
    await this.page.mouse.move((from.x + to.x) / 2, (from.y + to.y) / 2, { steps: 4 });
    await this.page.mouse.move(to.x, to.y, { steps: 4 });
    await meanwhile?.();
    await this.page.mouse.up();
  }

  /** Goes on by Tab alone to what has a name. */
  async tabTo(name) {
    for (let i = 0; i < 150; i++) {
      await this.press("Tab");
      const here = await this.page.evaluate(() => {
        const e = document.activeElement;
        const label = e?.labels?.[0];
        return (e?.getAttribute("aria-label") ?? (label ? [...label.childNodes].filter((n) => n.nodeType === 3).map((n) => n.textContent).join("") || label.textContent : e?.textContent) ?? "").trim();
      });
      if (here === name) return;
    }
    assert.fail(`no Tab leads to ${name}`);
  }

  /** Types into a field of a name, reached by Tab. */
  async fill(name, text) {
    await this.tabTo(name);
    await this.press("Control+a");
    await this.type(text);
    await this.press("Enter");
  }

  /** Takes a choice of a name, by typing what it begins with. */
  async pick(name, text) {
    await this.tabTo(name);
    await this.type(text);
    await this.page.waitForTimeout(50);
  }

  async letGo() {
    await this.press("Escape");
    await this.press("Escape");
    await this.page.evaluate(() => document.activeElement?.blur());
  }

  said() {
    return this.page.locator(".plan-page > [role=status]").innerText();
  }

  chosen() {
    return this.page.locator("section[aria-label='What is chosen'] h2").innerText();
  }

  async record() {
    await this.click(".plan-record button.main");
    await this.page.waitForSelector(".plan-record .saved");
  }

  /** Nothing of the page is out of reach, too small, or wider than the window. */
  async look(name) {
    await this.page.waitForTimeout(600);
    const { page } = this;
    const wide = page.viewportSize().width;
    const found = await page.evaluate(() => {
      const out = [];
      const over = document.documentElement.scrollWidth - innerWidth;
      if (over > 0) out.push(`scrolls sideways by ${over} px`);
      for (const e of document.querySelectorAll("main a, main button, main select, main summary, main input:not([type=checkbox], [type=file]), main label.yes, main label.file")) {
        if (!e.checkVisibility()) continue;
        const box = e.getBoundingClientRect();
        if (box.height < 47.5 || box.width < 47.5) out.push(`${e.outerHTML.slice(0, 90)} is ${Math.round(box.width)} by ${Math.round(box.height)} px`);
      }
      return out;
    });
    faults.push(...found.map((f) => `${name} at ${wide} px: ${f}`));
    await page.evaluate(axe);
    const { violations } = await page.evaluate(() => window.axe.run(document, { runOnly: ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"] }));
    for (const v of violations) faults.push(`${name} at ${wide} px: ${v.id}: ${v.help}: ${v.nodes.map((n) => n.html.slice(0, 120)).join(" | ")}`);
    if (site.shots) await page.screenshot({ path: path.join(site.shots, `plan-${name}-${wide}.png`), fullPage: true });
  }
}

const fortyWanted = grid(5, 8).supports.map((s) => [s.id, s.x, s.y].join(" ")).sort();
const placed = (plan) => plan.supports.map((s) => [s.id, Math.round(s.x * 1000) / 1000, Math.round(s.y * 1000) / 1000].join(" ")).sort();

/** Forty supports by mouse, from the job's page to the log. */
async function byMouse(browser) {
  const job = await Job.begin("By mouse");
  const d = await Drawer.enter(browser, desk);
  await d.page.goto(job.page);
  await d.click("text=Draw the plan");
  await d.page.waitForSelector(".plan-sheet");
  await d.look("empty");
  await d.click(".plan-tools >> text=Bearer");
  await d.click(".plan-row label:has-text('Stumps') input");
  await d.type("8 x 1.5");
  await d.click(".plan-row label:has-text('Bearers') input");
  await d.type("5");
  await d.tap(await d.on(0.1, 0.9));
  await d.tap(await d.on(0.8, 0.905)); // nearly level: it is drawn level
  await d.record();
  console.log(`40 supports by mouse: ${d.pressed} clicks and keys`);
  assert.ok(d.pressed <= 40, `${d.pressed} clicks and keys`);
  const plan = await job.plan();
  const [first] = plan.supports;
  assert.deepEqual(placed({ supports: plan.supports.map((s) => ({ ...s, x: s.x - first.x, y: s.y - first.y })) }), fortyWanted);
  await d.page.context().close();
}

/** The same by keyboard alone. */
async function byKeyboard(browser) {
  const job = await Job.begin("By keyboard");
  const d = await Drawer.enter(browser, desk);
  await d.open(job);
  await d.press("b");
  await d.page.waitForFunction(() => document.activeElement?.placeholder === "7 x 1.5");
  await d.type("8 x 1.5");
  await d.press("Tab");
  await d.type("5");
  await d.press("Enter");
  await d.press("Control+s");
  await d.page.waitForSelector(".plan-record .saved");
  console.log(`40 supports by keyboard alone: ${d.pressed} keys`);
  assert.ok(d.pressed <= 80, `${d.pressed} keys`);
  assert.deepEqual(placed(await job.plan()), fortyWanted);
  await d.page.context().close();
}

/** Every sort of thing is put down, said and changed without a mouse. */
async function everything(browser) {
  const job = await Job.begin("Everything by keyboard");
  await job.post("plan", grid(2, 4));
  const d = await Drawer.enter(browser, desk);
  await d.open(job);
  const put = async (letter, where) => {
    await d.letGo();
    await d.press(letter);
    await d.page.waitForFunction(() => document.activeElement?.matches(".plan-line input"));
    await d.type(where);
    await d.press("Enter");
  };
  await put("d", "-2 -1");
  await d.fill("Stands on", "kerb");
  await d.tabTo("Off the building");
  await d.press("Space");
  await put("d", "6 3");
  await d.fill("Height, mm", "-620");
  await d.fill("± of it, mm", "2");
  await put("p", "2 0.9");
  await d.fill("Name", "hearth edge");
  await put("s", "0.75 0");
  await d.pick("On bearer", "B1");
  await d.pick("Sort", "pile");
  await d.pick("Of", "conc");
  await put("r", "0 0, 4.5 1.8");
  await d.fill("Name", "bath");
  await d.tabTo("Wet: a bathroom, a laundry");
  await d.press("Space");
  await put("w", "0 0, 4.5 0");
  await d.tabTo("Carries roof");
  await d.press("Space");
  await put("f", "1 0.5, 2 0.9");
  await put("o", "3 0, 3.8 0");
  await d.fill("Name", "front door");
  await put("h", "4 1, 4.5 1.5");
  // What is there is chosen by name, and changed.
  const choose = async (name) => {
    await d.letGo();
    await d.fill("Choose by name", name);
  };
  await choose("B1-3");
  await d.pick("Join over it", "butt");
  await choose("B2-2");
  await d.fill("Name", "post by the stove");
  await d.fill("Right", "1.6");
  await choose("B2-3");
  await d.page.locator(".plan-sheet").focus();
  await d.press("ArrowRight", "Shift+ArrowUp");
  await choose("B2");
  await d.fill("Wide, mm", "100");
  await d.fill("Deep, mm", "75");
  await d.fill("Grade", "F14");
  await d.fill("Name", "back");
  await d.fill("More beside it", "2");
  await choose("B3");
  await d.tabTo("Take off");
  await d.press("Enter");
  await choose("B1-1 B1-2");
  assert.equal(await d.chosen(), "B1-1 and B1-2");
  await d.pick("Of", "tim");
  await d.letGo();
  await d.pick("Joists run", "up");
  await d.fill("Apart, mm", "450");
  await d.pick("Street is at the", "left");
  await d.tabTo("What the house weighs");
  await d.press("Enter");
  await d.fill("Floor itself, kPa", "0.5");
  assert.equal(await d.page.locator(".plan-under >> text=Undo").getAttribute("title"), "Undo: Said what the house weighs");
  await d.press("Control+s");
  await d.page.waitForSelector(".plan-record .saved");
  await d.look("everything");
  const p = await job.plan();
  assert.deepEqual(p.datums, [{ id: "D1", x: -2, y: -1, height: 0, stands_on: "kerb", off_building: true }, { id: "D2", x: 6, y: 3, height: -620, sd_mm: 2 }]);
  assert.deepEqual(p.spots, [{ id: "hearth edge", x: 2, y: 0.9 }]);
  assert.deepEqual(p.bearers[0], { id: "B1", supports: ["B1-1", "P1", "B1-2", "B1-3a", "B1-3b", "B1-4"], joins: [{ at: "B1-3a", other: "B1-3b", sort: "butted" }] });
  assert.deepEqual(p.supports.find((s) => s.id === "P1"), { id: "P1", x: 0.75, y: 0, sort: "pile", of: "concrete" });
  assert.deepEqual(p.supports.find((s) => s.id === "post by the stove"), { id: "post by the stove", x: 1.6, y: 1.8 });
  assert.deepEqual(p.supports.find((s) => s.id === "B2-3"), { id: "B2-3", x: 3.01, y: 1.9 });
  assert.deepEqual(p.supports.find((s) => s.id === "B1-1").of, "timber");
  assert.deepEqual(p.bearers.map((b) => [b.id, b.width_mm ?? 0, b.grade ?? ""]), [["B1", 0, ""], ["back", 100, "F14"], ["B4", 100, "F14"]]);
  assert.deepEqual(p.rooms, [{ name: "bath", outline: [[0, 0], [4.5, 0], [4.5, 1.8], [0, 1.8]], wet: true }]);
  assert.deepEqual(p.walls, [{ from: [0, 0], to: [4.5, 0], roof: true }]);
  assert.equal(p.fixed[0].name, "hearth");
  assert.deepEqual(p.doors, [{ name: "front door", outline: [[3, 0], [3.8, 0]] }]);
  assert.equal(p.hatches.length, 1);
  assert.deepEqual([p.joists, p.street, p.loads], [{ direction_deg: 90, spacing_mm: 450 }, "left", { floor_dead_kpa: 0.5 }]);
  await d.page.context().close();
}

/** Dragging, snapping, lengths typed while dragging, several at once, steps back. */
async function dragging(browser) {
  const job = await Job.begin("Dragging");
  await job.post("plan", { ...grid(2, 4), rooms: [{ name: "hall", outline: [[0, 3], [3, 3], [3, 5], [0, 5]] }] });
  const d = await Drawer.enter(browser, desk);
  await d.open(job);
  const where = async (id) => {
    await d.letGo();
    await d.page.fill("label:has-text('Choose by name') input", id);
    await d.page.press("label:has-text('Choose by name') input", "Enter");
    const value = (name) => d.page.locator(`section[aria-label='What is chosen'] .field:has(label:text-is('${name}')) input`).inputValue();
    return [Number(await value("Right")), Number(await value("Up"))];
  };
  // Nearly beside B1-2 and nearly on its bearer: it stands on the line, and level with it.
  const from = await d.at("support:B2-2"), below = await d.at("support:B1-2");
  await d.drag(from, { x: below.x + 4, y: from.y + 5 });
  assert.deepEqual(await where("B2-2"), [1.5, 1.8]);
  // A length that is typed counts to the millimetre, whatever the hand shows.
  const third = await d.at("support:B2-3");
  await d.drag(third, { x: third.x + 37, y: third.y + 2 }, async () => {
    await d.type("0.4");
    await d.press("Enter");
  });
  assert.deepEqual(await where("B2-3"), [3.4, 1.8]);
  await d.letGo();
  await d.press("Control+z");
  assert.deepEqual(await where("B2-3"), [3, 1.8]);
  await d.letGo();
  await d.press("Control+y");
  assert.deepEqual(await where("B2-3"), [3.4, 1.8]);
  // A box takes several, shift one more; they move together.
  await d.letGo();
  const [a, b] = [await d.at("support:B1-1"), await d.at("support:B1-2")];
  await d.drag({ x: a.x - 30, y: a.y - 30 }, { x: b.x + 30, y: b.y + 50 });
  assert.equal(await d.chosen(), "B1-1 and B1-2");
  const last = await d.at("support:B1-4");
  await d.page.keyboard.down("Shift");
  await d.tap(last);
  await d.page.keyboard.up("Shift");
  assert.equal(await d.chosen(), "B1-1, B1-2 and B1-4");
  await d.press("ArrowDown");
  assert.deepEqual(await where("B1-4"), [4.5, -0.01]);
  // A corner of a room.
  await d.page.fill("label:has-text('Choose by name') input", "hall");
  await d.page.press("label:has-text('Choose by name') input", "Enter");
  const corner = await d.page.locator("[data-corner='2'] .halo").boundingBox();
  await d.drag({ x: corner.x + 14, y: corner.y + 14 }, { x: corner.x + 14 + 60, y: corner.y + 14 });
  assert.notEqual(await d.page.locator(".field:has(label:text-is('Corners')) input").inputValue(), "0 3, 3 3, 3 5, 0 5");
  await d.letGo();
  await d.press("Control+z");
  // A room by dragging, a wall by two touches, and a bearer to which a support goes.
  await d.click(".plan-tools >> text=Room");
  await d.drag(await d.on(0.7, 0.1), await d.on(0.9, 0.3));
  await d.click(".plan-tools >> text=Stump");
  await d.page.mouse.move((a.x + b.x) / 2, a.y - 8);
  await d.tap({ x: (a.x + b.x) / 2, y: a.y - 12 });
  assert.match(await d.chosen(), /^B1-1x$/);
  // Zoom and turn: what is turned is never mirrored.
  await d.page.mouse.move(a.x, a.y);
  await d.page.mouse.wheel(0, -300);
  await d.click(".plan-under >> text=Turn a quarter");
  await d.press("0");
  const [one, four] = [await d.at("support:B1-2"), await d.at("support:B1-4")];
  assert.ok(four.y > one.y + 40 && Math.abs(four.x - one.x) < 12, "a quarter clockwise: what was to the right is below");
  await d.look("turned");
  // A reload loses nothing, and there is a way back to what is recorded.
  await d.page.reload();
  await d.page.waitForSelector(".plan-sheet");
  assert.match(await d.page.locator(".plan-record").innerText(), /Not recorded yet/);
  assert.deepEqual(await where("B2-3"), [3.4, 1.8]);
  await d.click("button:text-is('Back to what is recorded')");
  assert.deepEqual(await where("B2-3"), [3, 1.8]);
  await d.letGo();
  await d.press("Control+z");
  assert.deepEqual(await where("B2-3"), [3.4, 1.8]);
  await d.page.context().close();
}

/** Somebody finds a support below while the office draws. */
async function between(browser) {
  const job = await Job.begin("Between");
  await job.post("plan", { ...grid(2, 4), datums: [{ id: "D1", x: -1, y: -1, height: 0 }] });
  const d = await Drawer.enter(browser, desk);
  await d.open(job);
  const nudge = async (name) => {
    await d.page.fill("label:has-text('Choose by name') input", name);
    await d.page.press("label:has-text('Choose by name') input", "Enter");
    await d.page.locator(".plan-sheet").focus();
    await d.press("Shift+ArrowUp");
  };
  await nudge("B2-4");
  await job.post("found", { what: "support", id: "B1-2x", x: 2.2, y: 0, bearer: "B1", after: "B1-2" });
  await d.click(".plan-record button.main");
  await d.page.waitForSelector(".plan-held");
  assert.match(await d.page.locator(".plan-held").innerText(), /B1-2x/);
  await d.look("held-up");
  await d.click("button:text-is('Take it over')");
  await d.record();
  let plan = await job.plan();
  assert.deepEqual(plan.bearers[0].supports, ["B1-1", "B1-2", "B1-2x", "B1-3", "B1-4"]);
  assert.equal(plan.supports.find((s) => s.id === "B2-4").y, 1.9);
  // It is heard by itself, too, and whoever has drawn nothing simply sees it.
  await job.post("found", { what: "spot", id: "S9", x: 1, y: 1 });
  await d.page.waitForSelector("[data-key='spot:S9']", { state: "attached", timeout: 15000 });
  // What has records keeps its name, and leaves only when somebody says so.
  const setup = await job.post("setup", { instrument: "laser", datums: [{ datum: "D1", staff: 1000 }] });
  await job.post("reading", { setup, point: "B1-1", face: "floor", staff: 1010 });
  await d.open(job);
  await d.page.fill("label:has-text('Choose by name') input", "B1-1");
  await d.page.press("label:has-text('Choose by name') input", "Enter");
  const name = d.page.locator(".field:has(label:text-is('Name')) input");
  await name.fill("K1");
  await name.press("Enter");
  assert.match(await d.page.locator(".field:has(label:text-is('Name')) .wrong").innerText(), /has a record under this name/);
  await d.click("button:text-is('Take off')");
  await d.page.waitForSelector(".plan-record .caution");
  assert.equal(await d.page.locator(".plan-record button.main").getAttribute("aria-disabled"), "true");
  await d.look("leaving");
  await d.click("button:text-is('They may leave the plan')");
  await d.record();
  plan = await job.plan();
  assert.ok(!plan.supports.some((s) => s.id === "B1-1"));
  // An earlier plan is looked at, and taken back as a new event.
  await d.click("summary:has-text('Earlier plans')");
  await d.page.locator("button:has-text('Look at it')").last().click();
  await d.page.waitForSelector(".plan-looking");
  await d.look("earlier");
  await d.click("button:text-is('Return to yours')");
  await d.page.locator("button:has-text('Look at it')").last().click();
  await d.click("button:text-is('Take it back')");
  await d.record();
  plan = await job.plan();
  assert.ok(plan.supports.some((s) => s.id === "B1-1") && !plan.supports.some((s) => s.id === "B1-2x"));
  assert.ok((await job.state()).supports.find((s) => s.id === "B1-1").present, "what was read there comes back with it");
  // What no log would take is said at the thing.
  await d.page.fill("label:has-text('Choose by name') input", "B2");
  await d.page.press("label:has-text('Choose by name') input", "Enter");
  await d.page.fill(".field:has(label:text-is('Wide, mm')) input", "90000");
  await d.page.press(".field:has(label:text-is('Wide, mm')) input", "Enter");
  await d.click(".plan-record button.main");
  await d.page.waitForFunction(() => /^between 0 and 2000 mm/.test(document.querySelector(".is-wrong:has(label) .wrong")?.textContent ?? ""));
  await d.look("wrong");
  await d.page.context().close();
}

/** A picture under the plan, put to scale by two points; another job's plan. */
async function under(browser) {
  const job = await Job.begin("Underlay");
  const d = await Drawer.enter(browser, desk);
  await d.open(job);
  const [chooser] = await Promise.all([d.page.waitForEvent("filechooser"), d.page.click("text=A photo or a sketch under it")]);
  await chooser.setFiles({ name: "sketch.jpg", mimeType: "image/jpeg", buffer: Buffer.from(site.photo, "base64") });
  await d.page.waitForSelector("image.underlay");
  await d.page.waitForSelector("input[name=far]");
  await d.tap(await d.on(0.2, 0.6));
  await d.tap(await d.on(0.7, 0.62));
  await d.page.fill("input[name=far]", "9.6");
  await d.page.selectOption("select[name=way]", "level");
  await d.look("underlay");
  await d.click("button:text-is('Put to scale')");
  await d.page.selectOption("label:has-text('Strength') select", "0.3");
  await d.record();
  const { underlay } = await job.plan();
  assert.equal(Math.round((underlay.metres[1][0] - underlay.metres[0][0]) * 1000), 9600);
  assert.equal(underlay.metres[1][1], underlay.metres[0][1]);
  await d.page.reload();
  await d.page.waitForSelector("image.underlay");
  await d.page.context().close();
}

async function copied(browser) {
  const from = await Job.begin("The house next door");
  await from.post("plan", { ...grid(3, 5), datums: [{ id: "D1", x: -1, y: -1, height: 0, stands_on: "kerb" }] });
  let listed = [];
  for (const until = Date.now() + 10000; Date.now() < until && !listed.some((j) => j.id === from.id && j.brief?.supports === 15);) listed = (await api("GET", "/jobs")).jobs;
  const job = await Job.begin("Copied");
  const d = await Drawer.enter(browser, desk);
  await d.open(job);
  await d.page.selectOption("label:has-text('Or copy the plan of') select", from.id);
  await d.click("button:text-is('Copy it')");
  await d.page.waitForSelector("[data-key='support:B3-5']", { state: "attached" });
  await d.press("Control+z");
  await d.page.fill("label:has-text('Long') input", "9");
  await d.page.fill("label:has-text('wide') input", "5.4");
  await d.click("button:text-is('Begin with it')");
  await d.page.waitForSelector("[data-key='support:B4-7']", { state: "attached" });
  await d.click(".plan-under >> text=In feet");
  await d.look("feet");
  await d.record();
  assert.equal((await job.plan()).supports.length, 28);
  await d.page.context().close();
}

/** The same page in the hand: one finger moves the sheet or a thing, two enlarge it. */
async function inTheHand(browser) {
  const job = await Job.begin("In the hand");
  await job.post("plan", grid(3, 4));
  const d = await Drawer.enter(browser, hand, { hasTouch: true, isMobile: true, colorScheme: "dark" });
  await d.open(job);
  await d.look("hand-dark");
  await d.page.emulateMedia({ colorScheme: "light" });
  await d.page.locator(".plan-sheet").scrollIntoViewIfNeeded();
  const cdp = await d.page.context().newCDPSession(d.page);
  const touch = (type, ...points) => cdp.send("Input.dispatchTouchEvent", { type, touchPoints: points.map((p, id) => ({ ...p, id })) });
  const scale = async () => (await d.at("support:B1-4")).x - (await d.at("support:B1-1")).x;
  const middle = await d.on(0.5, 0.5);
  const before = await scale();
  await touch("touchStart", { x: middle.x - 40, y: middle.y }, { x: middle.x + 40, y: middle.y });
  for (let i = 1; i <= 6; i++) await touch("touchMove", { x: middle.x - 40 - 6 * i, y: middle.y }, { x: middle.x + 40 + 6 * i, y: middle.y });
  await touch("touchEnd");
  const after = await scale();
  assert.ok(after > before * 1.6, `two fingers enlarge it: ${before} to ${after}`);
  // One finger on empty paper moves the sheet.
  const was = await d.at("support:B2-2");
  const empty = { x: was.x + 35, y: was.y - 55 };
  await touch("touchStart", empty);
  for (let i = 1; i <= 5; i++) await touch("touchMove", { x: empty.x + 6 * i, y: empty.y + 4 * i });
  await touch("touchEnd");
  const now = await d.at("support:B2-2");
  assert.ok(Math.abs(now.x - was.x - 30) < 3 && Math.abs(now.y - was.y - 20) < 3, "the sheet follows the finger");
  // A finger near a support means it, and moves it along its bearer.
  await d.page.touchscreen.tap(now.x + 15, now.y + 6);
  assert.equal(await d.chosen(), "B2-2");
  await touch("touchStart", now);
  for (let i = 1; i <= 6; i++) await touch("touchMove", { x: now.x + 5 * i, y: now.y + i });
  await touch("touchEnd");
  assert.match(await d.said(), /Moved B2-2/);
  await d.look("hand");
  // Several by touch, then a bearer by two touches.
  await d.page.tap(".plan-under >> text=Several");
  const b1 = await d.at("support:B1-2");
  await d.page.touchscreen.tap(b1.x, b1.y);
  assert.equal(await d.chosen(), "B2-2 and B1-2");
  await d.page.tap(".plan-tools >> text=Bearer");
  const sheet = async (x, y) => {
    const at = await d.on(x, y);
    await d.page.touchscreen.tap(at.x, at.y);
  };
  await d.page.locator(".plan-sheet").scrollIntoViewIfNeeded();
  await sheet(0.2, 0.15);
  await sheet(0.8, 0.15);
  assert.match(await d.chosen(), /^B4$/);
  await d.look("hand-bearer");
  await d.record();
  const plan = await job.plan();
  assert.equal(plan.bearers.length, 4);
  const b22 = plan.supports.find((s) => s.id === "B2-2");
  assert.ok(b22.x > 1.6 && b22.y === 1.8, `B2-2 stands on its bearer: ${b22.x} ${b22.y}`);
  await d.page.context().close();
}

/** A floor of 500 supports still follows the hand. What a move costs is printed. */
async function large(browser) {
  const job = await Job.begin("Large");
  await job.post("plan", grid(20, 25));
  const d = await Drawer.enter(browser, desk);
  await d.open(job);
  const from = await d.at("support:B10-12");
  await d.page.mouse.move(from.x, from.y);
  await d.page.mouse.down();
  const costs = await d.page.evaluate(async ({ x, y }) => {
    const sheet = document.querySelector(".plan-sheet");
    const costs = [];
    for (let i = 1; i <= 30; i++) {
      await new Promise((then) => requestAnimationFrame(then));
      const start = performance.now();
      sheet.dispatchEvent(new PointerEvent("pointermove", { pointerId: 1, clientX: x + i, clientY: y + i, bubbles: true }));
      await new Promise((then) => requestAnimationFrame(() => setTimeout(then)));
      costs.push(performance.now() - start);
    }
    return costs.sort((a, b) => a - b);
  }, from);
  await d.page.mouse.up();
  assert.match(await d.said(), /Moved B10-12/);
  console.log(`500 supports: a move of the hand takes ${Math.round(costs[15])} ms, at most ${Math.round(costs[29])}`);
  assert.ok(costs[15] < 250, `${costs[15]} ms`);
  await d.page.context().close();
}

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
