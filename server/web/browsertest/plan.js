// Draws plans in a real browser: by mouse, by keyboard alone, by touch. The Go test
// that starts it says in SITE where the server is and where screenshots go. It prints
// what it counted and what is wrong, and exits 1.
import assert from "node:assert/strict";
import path from "node:path";
import { chromium } from "playwright-core";

const site = JSON.parse(process.env.SITE);
const flags = ["--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run",
  "--disable-background-networking", "--disable-component-update", "--disable-sync"];
const faults = [];

const api = async (method, where, body, headers = {}) => {
  const answer = await fetch(`${site.url}/api/v1${where}`, { method, body: body && JSON.stringify(body), headers: { Authorization: `Bearer ${site.token}`, "Content-Type": "application/json", ...headers } });
  assert.ok(answer.ok, `${method} ${where}: ${answer.status}`);
  return answer.json();
};

/** A job without a plan, and where it is drawn. */
async function newJob(name) {
  const { id } = await api("POST", "/jobs", { name, zone: "Australia/Sydney" });
  return { id, plan: `${site.url}/jobs/${id}/plan` };
}

const stateOf = (job) => api("GET", `/jobs/${job.id}/state`);

async function shot(page, name) {
  if (site.shots) await page.screenshot({ path: path.join(site.shots, `${name}-${page.viewportSize().width}.png`), fullPage: true });
}

async function open(browser, size, dark = false, more = {}) {
  const context = await browser.newContext({ viewport: size, colorScheme: dark ? "dark" : "light", ...more });
  const page = await context.newPage();
  page.on("console", (m) => { if (m.type() === "error" && !/409|422/.test(m.text())) faults.push(`console: ${m.text()}`); });
  page.on("pageerror", (e) => faults.push(`page: ${e.message}`));
  await page.goto(`${site.url}/enter#${site.token}`);
  await page.waitForURL(`${site.url}/`);
  return page;
}

const desk = { width: 1280, height: 900 };

async function first(browser) {
  const job = await newJob("First");
  const page = await open(browser, desk);
  await page.goto(job.plan);
  await page.waitForSelector(".plan-sheet");
  await shot(page, "plan-empty");
  await page.keyboard.press("b");
  await page.waitForTimeout(100);
  await page.keyboard.type("8 x 1.5");
  await page.keyboard.press("Tab");
  await page.keyboard.type("5");
  await page.keyboard.press("Tab");
  await page.keyboard.type("1.8");
  await page.keyboard.press("Enter");
  await page.waitForTimeout(900);
  await shot(page, "plan-40");
  await page.click(".plan-record button.main");
  await page.waitForSelector(".plan-record .saved");
  const state = await stateOf(job);
  assert.equal(state.plan.supports.length, 40);
  await shot(page, "plan-recorded");
  const narrow = await open(browser, { width: 390, height: 844 }, true, { hasTouch: true, isMobile: true });
  await narrow.goto(job.plan);
  await narrow.waitForTimeout(800);
  await shot(narrow, "plan-dark");
}

const browser = await chromium.launch({ executablePath: site.chromium, args: flags });
try {
  await first(browser);
} catch (e) {
  faults.push(e.stack);
} finally {
  await browser.close();
}
if (faults.length) {
  console.log(faults.join("\n"));
  process.exit(1);
}
