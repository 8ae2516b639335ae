// The pages that the desk works from beside the jobs, in a real browser: what was kept
// apart, the search, the kit, the firm, people, tokens, the trail, calendars, and what
// goes in and out of a job. The Go test that starts it says in SITE where the server is,
// in APART what was kept apart and in PERSON who decides. It prints what is wrong and
// exits 1.
import assert from "node:assert/strict";
import { chromium } from "playwright-core";
import { Inspector } from "./inspect.js";

const site = JSON.parse(process.env.SITE);
const [finding, packing, unreadable] = JSON.parse(process.env.APART);
const job = `/jobs/${site.job}`;

async function open(page, path) {
  const answer = await page.goto(site.url + path);
  assert.equal(answer.status(), 200, `${path} answers ${answer.status()}`);
}

// tabTo goes on with the Tab key until something has the focus, and sees that the focus
// can be seen.
async function tabTo(page, selector) {
  for (let i = 0; i < 60; i++) {
    await page.keyboard.press("Tab");
    const outline = await page.evaluate((s) => document.activeElement?.matches(s) && getComputedStyle(document.activeElement).outlineStyle, selector);
    if (!outline) continue;
    assert.notEqual(outline, "none", `the focus on ${selector} cannot be seen`);
    return;
  }
  assert.fail(`no way by Tab to ${selector}`);
}

// What was kept apart is taken in, corrected on its form, set aside and reopened.
async function keptApart(page, inspector) {
  await open(page, "/quarantine");
  await inspector.look(page, "apart-list", true);
  await open(page, `/quarantine/${unreadable}`);
  await inspector.look(page, "apart-unreadable");
  await open(page, `/quarantine/${finding}`);
  await inspector.look(page, "apart", true);
  await page.click("button:text-is('Take it in')");
  assert.match(await page.locator("#take .wrong").first().innerText(), /which of the firm’s jobs/i);
  await inspector.look(page, "apart-wrong");
  await page.selectOption("#job", site.job);
  await page.selectOption("#by", process.env.PERSON);
  await page.click("button:text-is('Take it in')");
  await page.locator("#history >> text=/taken in/i").waitFor();
  await inspector.look(page, "apart-taken-in", true);
  await page.fill("#why", "it was the neighbour’s house");
  await page.focus("#reopen button");
  await page.keyboard.press("Enter");
  await page.locator("#history >> text=/reopened/i").waitFor();
  await inspector.look(page, "apart-reopened");
}

async function corrected(page, inspector) {
  await open(page, `/quarantine/${packing}`);
  await inspector.look(page, "apart-unfit", true);
  await page.selectOption("#job", site.job);
  await page.click("text=Correct it");
  assert.equal(await page.inputValue("[name='pieces[0].thickness']"), "-1");
  await inspector.look(page, "apart-correct", true);
  await page.fill("[name='pieces[0].thickness']", "1");
  if (await page.inputValue("#recorder") === "") await page.selectOption("#recorder", process.env.PERSON);
  await page.click("main form button.main");
  await page.locator("[role=status]:has-text('Saved')").waitFor();
  await open(page, `/quarantine/${packing}`);
  await page.locator("#history >> text=/taken in with a change/i").waitFor();
}

async function setAside(page, inspector) {
  await open(page, `/quarantine/${unreadable}`);
  await page.click("button:text-is('Set aside')");
  assert.match(await page.locator("#set-aside .wrong").first().innerText(), /\w/);
  await inspector.look(page, "apart-aside-wrong");
  await page.fill("#why", "half a record, and the phone sent it again");
  await page.selectOption("#by-aside", process.env.PERSON);
  await tabTo(page, "#set-aside button");
  await page.keyboard.press("Enter");
  await page.locator("#history >> text=/set aside/i").waitFor();
  await open(page, "/quarantine");
  await page.click("text=Decided before");
  await inspector.look(page, "apart-list-after");
}

// One searches by keys alone, goes on to the second page, and finds nothing.
async function search(page, inspector) {
  await open(page, "/search");
  await inspector.look(page, "search-empty", true);
  await tabTo(page, "#q-main");
  await page.keyboard.type("damp bath");
  await page.keyboard.press("Enter");
  await page.waitForURL(/q=damp/);
  assert.ok(await page.locator("mark").count() > 20);
  await inspector.look(page, "search", true);
  await page.click("a.act:text-is('More')");
  assert.ok(await page.locator("mark").count() > 0);
  await inspector.look(page, "search-second");
  await page.locator("a.act:text-is('Before these')").waitFor();
  await open(page, "/search?q=elephant");
  await inspector.look(page, "search-nothing");
}

// The kit with all it can say, and the flag where a move is recorded.
async function kit(page, inspector) {
  await open(page, "/kit");
  await page.locator("#jacks .danger:has-text('overdue')").waitFor();
  await inspector.look(page, "kit-desk", true);
  for (const summary of await page.locator("summary").all()) await summary.click();
  await inspector.look(page, "kit-history", true);
  await page.fill("#name", "");
  await page.click("#add button.main");
  await page.locator("#name-wrong").waitFor();
  await inspector.look(page, "kit-wrong");
  await open(page, `${job}/record/jacking?support=B1-1`);
  await page.locator("text=Out of use: old screw").waitFor();
  await inspector.look(page, "kit-flag", true);
}

// Tokens, hooks, calendars and a person's link are made and shown once.
async function made(page, inspector) {
  for (const [name, fill] of [["tokens", { "#name": "The bookkeeper" }], ["hooks", { "#name": "The bookkeeper", "#url": "https://example.com/told" }]]) {
    await open(page, `/${name}`);
    await inspector.look(page, `${name}-empty`);
    await page.click("main form:last-of-type button.main");
    await inspector.look(page, `${name}-refused`);
    for (const [field, text] of Object.entries(fill)) await page.fill(field, text);
    if (name === "hooks") await page.check("[value=stop]");
    await page.click("main form:last-of-type button.main");
    await page.locator("#made").waitFor();
    await inspector.look(page, `${name}-told`, true);
    await open(page, `/${name}`);
    await inspector.look(page, `${name}-list`);
  }
  await open(page, "/calendars");
  await inspector.look(page, "calendars-desk");
  await page.selectOption("#crew", { index: 1 });
  await page.fill("#name", "the yard");
  await page.click("main form button.main");
  await page.locator("#made").waitFor();
  await inspector.look(page, "calendars-told", true);
}

async function people(page, inspector) {
  await open(page, "/people");
  await inspector.look(page, "people-desk", true);
  await page.click("main form button.main");
  await page.locator(".wrong").first().waitFor();
  await inspector.look(page, "people-wrong");
  await page.click("table.people a:has-text('Tama')");
  await inspector.look(page, "person-desk", true);
  await page.click("button:text-is('Invite')");
  await page.locator("#made").waitFor();
  await inspector.look(page, "person-link", true);
  await page.click("button:has-text('leaves')");
  await page.locator("button:text-is('Take back')").waitFor();
  await inspector.look(page, "person-left");
  await open(page, "/people");
  await inspector.look(page, "people-left");
}

// The pages that are only read or filled in.
async function plain(page, inspector) {
  const pages = {
    firm: "/firm", diary: "/diary", "diary-empty": "/diary?day=2020-01-01", trail: "/trail", "trail-nothing": "/trail?until=2020-01-01",
    particulars: `${job}/particulars`, sheets: `${job}/sheets`, "book-in": `${job}/book/import`, "plan-in": `${job}/plan/import`,
  };
  for (const [name, path] of Object.entries(pages)) {
    await open(page, path);
    await inspector.look(page, `desk-${name}`, true);
  }
  await open(page, "/firm");
  await page.fill("#name", "");
  await page.fill("#zone", "Mars/Base");
  await page.click("main form button.main");
  await page.locator("#zone-wrong").waitFor();
  assert.equal(await page.inputValue("#zone"), "Mars/Base");
  await inspector.look(page, "desk-firm-wrong");
}

async function run() {
  const browser = await chromium.launch({ executablePath: site.chromium, args: ["--no-sandbox", "--disable-gpu", "--no-first-run"] });
  const inspector = new Inspector(site.shots);
  try {
    const page = await (await browser.newContext({ viewport: { width: 1280, height: 900 }, colorScheme: "light" })).newPage();
    page.setDefaultTimeout(10_000);
    inspector.watch(page);
    await page.goto(`${site.url}/enter#${site.token}`);
    await page.waitForURL(`${site.url}/`);
    for (const part of [keptApart, corrected, setAside, search, kit, made, people, plain]) await part(page, inspector);
  } finally {
    await browser.close();
  }
  assert.deepEqual(inspector.faults, []);
}

run().catch((e) => {
  console.error(e.message);
  process.exit(1);
});
