// One who draws plans in a browser, and the jobs he draws for.
import assert from "node:assert/strict";
import { randomUUID } from "node:crypto";
import { readFile } from "node:fs/promises";
import { createRequire } from "node:module";
import path from "node:path";

export const site = JSON.parse(process.env.SITE);
export const desk = { width: 1280, height: 900 }, hand = { width: 390, height: 844 };
const axe = await readFile(createRequire(import.meta.url).resolve("axe-core/axe.min.js"), "utf8");
export const faults = [];

export async function api(method, where, body) {
  const answer = await fetch(`${site.url}/api/v1${where}`, { method, ...(body ? { body: JSON.stringify(body) } : {}), headers: { Authorization: `Bearer ${site.token}`, "Content-Type": "application/json" } });
  assert.ok(answer.ok, `${method} ${where}: ${answer.status}`);
  return answer.json();
}

export class Job {
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

export const grid = (bearers, each) => {
  const plan = { supports: [], bearers: [] };
  for (let b = 1; b <= bearers; b++) {
    const names = Array.from({ length: each }, (_, i) => `B${b}-${i + 1}`);
    names.forEach((id, i) => plan.supports.push({ id, x: 1.5 * i, y: 1.8 * (b - 1) }));
    plan.bearers.push({ id: `B${b}`, supports: names });
  }
  return plan;
};

/** One who draws: a page, and how much was pressed on it. */
export class Drawer {
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
