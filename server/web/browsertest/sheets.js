// Level book and plan as CSV in a real browser: what is wrong is said line by line,
// what is right is shown first and then recorded.
import assert from "node:assert/strict";
import { chromium } from "playwright-core";
import { Inspector } from "./inspect.js";

const site = JSON.parse(process.env.SITE);
const job = `/jobs/${site.job}`;
const book = [
  "setup;date;time;sight;point;face;staff mm;by;instrument;colour",
  "1;2026-03-02;14:00;bs;D1;;1000;;laser;",
  "1;;14:05;is;B1-1;floor;1012,5;Mere Kohu;;red",
  "1;;14:06;is;B1-2;floor;1008;;;",
  "1;;14:20;fs;D1;;1000;;;",
].join("\r\n");

async function choose(page, text) {
  await page.setInputFiles("#file", { name: "sheet.csv", mimeType: "text/csv", buffer: Buffer.from(text) });
  await page.selectOption("#recorder", process.env.PERSON);
  await page.click("text=Look at it");
}

async function books(page, inspector) {
  await page.goto(`${site.url}${job}`);
  await page.click("main >> text=In and out");
  await inspector.look(page, "sheets");
  await page.click("tr:has-text('Level book') >> text=In, from CSV");
  await page.click("text=All columns");
  await inspector.look(page, "book-in");
  await choose(page, book.replace("B1-2", "B9-9").replace("1012,5", "1012,5 or so"));
  assert.match(await page.locator("#faults").innerText(), /a number, such as 12.5/i);
  await inspector.look(page, "book-in-wrong");
  await choose(page, book);
  assert.match(await page.locator("#proposal").innerText(), /1 set-up, 2 readings, 1 closing/);
  assert.match(await page.locator("#sheet-lines").innerText(), /−12\.5/);
  await inspector.look(page, "book-in-right");
  await page.click("text=Record them");
  await page.locator("[role=status]:has-text('Saved')").waitFor();
  await page.goto(`${site.url}${job}/book/import`);
  await choose(page, book);
  assert.match(await page.locator("#proposal").innerText(), /All of it is recorded already/);
  await inspector.look(page, "book-in-known");
}

async function plans(page, inspector) {
  await page.goto(`${site.url}${job}/plan/import`);
  await inspector.look(page, "plan-in");
  const out = await (await page.request.get(`${site.url}${job}/plan.csv`)).text();
  await choose(page, `${out}spot,S2,far,1\r\n`);
  await inspector.look(page, "plan-in-wrong");
  await choose(page, `${out}spot,S2,2.4,1.6\r\nroom,Hall,,,,,,,,,,,,,,,,,,,,0 0; 4 0; 4 3; 0 3\r\n`);
  assert.equal(await page.locator(".plans svg").count(), 2);
  await inspector.look(page, "plan-in-right");
  await page.focus("#proposal button");
  await page.keyboard.press("Enter");
  await page.locator("[role=status]:has-text('The plan is in')").waitFor();
}

async function run() {
  const browser = await chromium.launch({ executablePath: site.chromium, args: ["--no-sandbox", "--disable-gpu", "--no-first-run"] });
  const inspector = new Inspector(site.shots);
  try {
    const page = await (await browser.newContext({ viewport: { width: 1280, height: 900 } })).newPage();
    page.setDefaultTimeout(10_000);
    inspector.watch(page);
    await page.goto(`${site.url}/enter#${site.token}`);
    await page.waitForURL(`${site.url}/`);
    await books(page, inspector);
    await plans(page, inspector);
  } finally {
    await browser.close();
  }
  assert.deepEqual(inspector.faults, []);
}

run().catch((e) => {
  console.error(e.message);
  process.exit(1);
});
