// Owners' links in a real browser: made at the desk, opened with and without script, a
// change answered, revoked. The secret leaves the address, and no request carries it but
// the one that posts it.
import assert from "node:assert/strict";
import path from "node:path";
import { chromium } from "playwright-core";
import { Inspector } from "./inspect.js";

const site = JSON.parse(process.env.SITE);

// make makes a link on the job's page, after a try without a name.
async function make(page, inspector) {
  await page.goto(`${site.url}/jobs/${site.job}/shares`);
  await inspector.look(page, "shares-none", true);
  await page.click("button:text-is('Make a link')");
  assert.match(await page.locator("#name-wrong").innerText(), /missing/);
  await inspector.look(page, "shares-wrong");
  await page.fill("#name", "R. and T. Finch");
  await page.fill("#email", "owner@example.com");
  await page.click("button:text-is('Make a link')");
  const link = await page.locator("#made .link a").innerText();
  const code = await page.locator(".share-code").innerText();
  assert.match(await page.locator("#made").innerText(), /It was sent to owner@example.com/);
  await inspector.look(page, "shares-made", true);
  const secret = link.split("#")[1];
  assert.equal(code.replaceAll("-", ""), secret);
  return { address: site.url + new URL(link).pathname, secret, code };
}

// heard notes where a secret is in what a page asks for.
function heard(page, secret, faults) {
  page.on("request", (r) => {
    const headers = JSON.stringify(r.headers());
    if (r.url().includes(secret) || headers.includes(secret) || r.headers().referer) faults.push(`${r.method()} ${r.url()} carries too much: ${headers}`);
  });
}

// opens follows the link where scripts run; no address and no history has the secret then.
async function opens(page, share, inspector) {
  await page.goto(`${share.address}#${share.secret}`);
  await page.locator("h1:text-is('What was done under your floor')").waitFor();
  assert.equal(await page.evaluate(() => location.href), share.address);
  assert.equal(await page.evaluate(() => document.referrer.includes("#") || document.cookie !== ""), false);
  assert.equal(await page.evaluate(() => Object.keys(localStorage).length + Object.keys(sessionStorage).length), 0);
  await inspector.look(page, "owner", true);
  // The link is followed again while it is open: the secret does not stay in the address.
  await page.goto(`${share.address}#${share.secret}`);
  await page.waitForFunction(() => location.hash === "");
  if (site.shots) {
    await page.emulateMedia({ media: "print" });
    await page.screenshot({ path: path.join(site.shots, "owner-print.png"), fullPage: true });
    await page.emulateMedia({ media: "screen" });
  }
}

async function tabTo(page, selector) {
  for (let i = 0; i < 80; i++) {
    await page.keyboard.press("Tab");
    const there = await page.evaluate((s) => document.activeElement?.matches(s) && getComputedStyle(document.activeElement).outlineStyle, selector);
    if (!there) continue;
    assert.notEqual(there, "none", `the focus on ${selector} cannot be seen`);
    return;
  }
  assert.fail(`no way by Tab to ${selector}`);
}

// accepts answers a change with keys alone, after a try without a name.
async function accepts(page, inspector) {
  await page.goto(page.url());
  await tabTo(page, "a[href*='/changes/']");
  await page.keyboard.press("Enter");
  await page.locator("#name").waitFor();
  await inspector.look(page, "owner-change", true);
  await tabTo(page, "button[value=yes]");
  await page.keyboard.press("Enter");
  assert.match(await page.locator("#name-wrong").innerText(), /missing/);
  await inspector.look(page, "owner-change-wrong");
  await tabTo(page, "#name");
  await page.keyboard.type("R. Finch");
  await tabTo(page, "button[value=yes]");
  await page.keyboard.press("Enter");
  await page.locator("text=Agreed").waitFor();
  assert.match(await page.locator("main").innerText(), /R\. Finch, by the owner’s link/);
  await inspector.look(page, "owner-change-answered");
}

// typed opens the link by its code where no script runs, and declines a change.
async function typed(page, share) {
  await page.goto(`${share.address}#${share.secret}`);
  await page.locator("#code").waitFor();
  await page.fill("#code", "ABCD");
  await page.click("button:text-is('Open')");
  assert.match(await page.locator("#code-wrong").innerText(), /it opens nothing here/);
  assert.equal(await page.inputValue("#code"), "ABCD");
  await page.fill("#code", share.code.toLowerCase());
  await page.click("button:text-is('Open')");
  await page.locator("h1:text-is('What was done under your floor')").waitFor();
  await page.click("a:has-text('Accept or decline')");
  await page.fill("#name", "T. Finch");
  await page.click("button:text-is('Decline')");
  await page.locator("text=Declined").waitFor();
  await page.click("text=The whole record");
  await page.click("button:has-text('Close this page on this device')");
  await page.locator("#code").waitFor();
}

async function revoked(desk, page, share, inspector) {
  await desk.goto(`${site.url}/jobs/${site.job}/shares`);
  assert.match(await desk.locator(".shares").innerText(), /2 times, last/);
  await inspector.look(desk, "shares");
  await desk.click("button:text-is('Revoke')");
  assert.match(await desk.locator(".shares").innerText(), /revoked/);
  await page.goto(share.address);
  await page.locator("h1:text-is('This link is over')").waitFor();
  await inspector.look(page, "share-over");
}

async function run() {
  const browser = await chromium.launch({ executablePath: site.chromium, args: ["--no-sandbox", "--disable-gpu", "--no-first-run"] });
  const inspector = new Inspector(site.shots);
  const open = async (options) => {
    const page = await (await browser.newContext({ viewport: { width: 1280, height: 900 }, ...options })).newPage();
    page.setDefaultTimeout(30_000);
    return page;
  };
  try {
    const desk = await open();
    inspector.watch(desk);
    await desk.goto(`${site.url}/enter#${site.token}`);
    await desk.waitForURL(`${site.url}/`);
    const share = await make(desk, inspector);
    const owner = await open();
    inspector.watch(owner);
    heard(owner, share.secret, inspector.faults);
    await owner.goto(share.address);
    await inspector.look(owner, "open-share", true);
    await opens(owner, share, inspector);
    await accepts(owner, inspector);
    const plain = await open({ javaScriptEnabled: false, viewport: { width: 390, height: 844 } });
    heard(plain, share.secret, inspector.faults);
    await typed(plain, share);
    await revoked(desk, owner, share, inspector);
  } finally {
    await browser.close();
  }
  assert.deepEqual(inspector.faults, [], inspector.faults.join("\n"));
}

run().catch((e) => {
  console.error(e.message);
  process.exit(1);
});
