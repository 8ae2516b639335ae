// A phone as its user has it: a browser with a profile of its own, paired with the
// server, that can lose its signal and be killed.
import assert from "node:assert/strict";
import { execFileSync } from "node:child_process";
import { mkdtempSync, rmSync } from "node:fs";
import os from "node:os";
import path from "node:path";
import { chromium } from "playwright-core";

export const flags = ["--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking", "--disable-component-update",
  "--disable-sync", "--use-fake-ui-for-media-stream", "--use-fake-device-for-media-stream"];

export class Phone {
  static running = new Set(); // phones of the check under way

  faults = []; // what no page may do
  answers = []; // of the API: method, path and status of each

  constructor(site, options = {}) {
    this.site = site;
    this.options = options;
    this.profile = mkdtempSync(path.join(os.tmpdir(), "phone-"));
    Phone.running.add(this);
  }

  /** Starts the browser. The app is opened by visit. */
  static async start(site, options) {
    const phone = new Phone(site, options);
    await phone.launch();
    return phone;
  }

  async launch() {
    this.context = await chromium.launchPersistentContext(this.profile, {
      executablePath: this.site.chromium, args: flags, viewport: { width: 360, height: 740 }, hasTouch: true, isMobile: true, reducedMotion: "reduce", ...this.options,
    });
    this.page = this.context.pages()[0] ?? (await this.context.newPage());
    this.watch(this.page);
  }

  /** Another window of this phone. It is ended with it. */
  beside(page) {
    const other = Object.assign(Object.create(Phone.prototype), this, { page, faults: [], answers: [] });
    other.watch(page);
    return other;
  }

  watch(page) {
    page.on("pageerror", (e) => this.faults.push(e.message));
    page.on("console", (m) => {
      if (m.type() === "error" && !/Failed to load resource|net::ERR/.test(m.text())) this.faults.push(m.text());
    });
    page.on("response", (r) => {
      const at = new URL(r.url()).pathname;
      if (at.startsWith("/api/")) this.answers.push(`${r.request().method()} ${at.slice("/api/v1".length)} ${r.status()}`);
    });
  }

  visit(hash = "") {
    return this.page.goto(`${this.site.url}/phone/${hash}`);
  }

  /** Pairs the phone as the person of that name and waits until the app is kept on it. */
  async pair(person = this.site.person) {
    await this.visit();
    await this.page.getByLabel("Code").fill(await this.site.pairingCode());
    await this.tap("Pair");
    await this.tap(person);
    await this.page.evaluate(() => navigator.serviceWorker.ready);
    // A page that is not under the service worker yet would not open without signal.
    await this.page.reload();
    await this.page.waitForFunction(() => navigator.serviceWorker.controller !== null);
  }

  /** Goes to a place of a job, and waits until its figures are reckoned. */
  async at(job, where = "") {
    await this.page.evaluate((h) => (location.hash = h), `#/job/${job}${where}`);
    await this.page.waitForFunction(() => document.querySelector(".frame h1") && !document.querySelector(".starting"));
  }

  async openJob(job) {
    await this.at(job);
    await this.page.locator("svg.floor").waitFor();
  }

  button(name) {
    return this.page.getByRole("button", { name, exact: typeof name === "string" }).or(this.page.getByRole("link", { name, exact: typeof name === "string" })).first();
  }

  touches = 0; // so far

  tap(name) {
    this.touches++;
    return this.button(name).click();
  }

  /** Types on the app's own keypad. */
  async type(keys) {
    const pad = this.page.getByRole("group", { name: "Keypad" });
    for (const key of keys) {
      const label = { "-": "Other sign", "½": "and a half", "⌫": "Take the last digit back" }[key] ?? key;
      this.touches++;
      await pad.getByRole("button", { name: label, exact: true }).click();
    }
  }

  /** Holds a button down as long as an irreversible step wants. */
  async hold(name) {
    this.touches++;
    const button = this.page.getByRole("button", { name }).first();
    await button.waitFor();
    // A button that is drawn anew meanwhile cannot be scrolled to, and has no box, for a moment.
    let box = null;
    while (!box) {
      await button.scrollIntoViewIfNeeded({ timeout: 2000 }).catch(() => {});
      box = await button.boundingBox();
    }
    await this.page.mouse.move(box.x + box.width / 2, box.y + box.height / 2);
    await this.page.mouse.down();
    await this.page.waitForTimeout(950);
    await this.page.mouse.up();
  }

  /** Waits until the app says that something was saved. */
  saved() {
    return this.page.locator(".foot.saved [role=status], .foot.doubt [role=status]").waitFor();
  }

  /** What is said to be on this phone only. */
  held() {
    return this.page.locator(".held").innerText();
  }

  async allSent(timeout = 20_000) {
    await this.page.waitForFunction(() => document.querySelector(".held")?.textContent === "all sent", undefined, { timeout });
  }

  async offline(yes) {
    await this.context.setOffline(yes);
    if (!yes) await this.page.evaluate(() => dispatchEvent(new Event("online")));
  }

  /** Everything in the app's store, by name of the object store; without bytes. */
  store() {
    return this.page.evaluate(async () => {
      const db = await new Promise((done, failed) => {
        const open = indexedDB.open("relevel");
        open.onsuccess = () => done(open.result);
        open.onerror = () => failed(open.error);
      });
      const all = {};
      for (const name of ["own", "shot", "heard"]) {
        all[name] = await new Promise((done) => (db.transaction(name).objectStore(name).getAll().onsuccess = (e) => done(e.target.result)));
      }
      all.bytes = await new Promise((done) => (db.transaction("bytes").objectStore("bytes").getAllKeys().onsuccess = (e) => done(e.target.result)));
      all.counter = await new Promise((done) => (db.transaction("setting").objectStore("setting").get("counter").onsuccess = (e) => done(e.target.result ?? 0)));
      db.close();
      return all;
    });
  }

  /** Makes the processor so many times slower. */
  async slow(times) {
    const cdp = await this.context.newCDPSession(this.page);
    await cdp.send("Emulation.setCPUThrottlingRate", { rate: times });
    return cdp;
  }

  /** Has the pages opened from now on note what their workers are asked: window.asked
   *  lists the name and how long the answer took, ms; "start" is until one can be asked. */
  async timeWorkers() {
    await this.context.addInitScript(() => {
      window.asked = [];
      window.Worker = class extends Worker {
        asked = new Map();
        constructor(...how) {
          super(...how);
          const begun = performance.now();
          this.addEventListener("message", ({ data }) => {
            if (data.ready) window.asked.push({ name: "start", ms: performance.now() - begun });
            const was = this.asked.get(data.id);
            if (was) window.asked.push({ name: was.name, ms: performance.now() - was.at });
          });
        }
        postMessage(m, ...rest) {
          this.asked.set(m.id, { name: m.name, at: performance.now() });
          super.postMessage(m, ...rest);
        }
      };
    });
  }

  /** Ends the browser and lets its profile go. */
  async leave() {
    Phone.running.delete(this);
    await this.context.close().catch(() => {});
    rmSync(this.profile, { recursive: true, force: true });
  }

  /** What phones of a check that failed show, before they are ended. */
  static async leaveAll(show) {
    for (const phone of Phone.running) {
      await show(phone).catch(() => {});
      await phone.leave();
    }
  }

  /** Ends the browser as a dead battery does, and starts it again on the same profile. */
  async kill() {
    const pids = execFileSync("pgrep", ["-f", `user-data-dir=${this.profile}`]).toString().trim().split("\n").map(Number);
    for (const pid of pids) {
      try {
        process.kill(pid, "SIGKILL");
      } catch {
        // it went with its parent
      }
    }
    await this.context.close().catch(() => {});
    rmSync(path.join(this.profile, "SingletonLock"), { force: true });
  }

  async end() {
    await this.leave();
    assert.deepEqual(this.faults, [], "what the page complained of");
  }
}
