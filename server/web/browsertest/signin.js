// Drives signing in, people, tokens and the trail in a real browser: at the width of a
// phone and of a desk, with keys alone, and with a passkey. The Go test that starts it
// says in SITE where the server is and by which link one begins. It prints what is
// wrong and exits 1.
import assert from "node:assert/strict";
import { readFileSync } from "node:fs";
import { createRequire } from "node:module";
import path from "node:path";
import { chromium } from "playwright-core";

const site = JSON.parse(process.env.SITE);
const flags = ["--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run",
  "--disable-background-networking", "--disable-component-update", "--disable-sync"];
const axe = readFileSync(createRequire(import.meta.url).resolve("axe-core/axe.min.js"), "utf8");
const password = "wattle stump level bearer";
const faults = [];

// A page must not scroll sideways, all that can be touched has to be large enough, and
// axe may find nothing.
async function check(page, name) {
  const width = page.viewportSize().width;
  // The policy lets no script of a test in through the page; the driver has a way beside it.
  await page.evaluate(axe);
  const found = await page.evaluate(async () => {
    const faults = [];
    const wide = document.documentElement.scrollWidth - innerWidth;
    if (wide > 0) faults.push(`scrolls sideways by ${wide} px`);
    for (const e of document.querySelectorAll("a, button, select, summary, input:not([type=hidden])")) {
      if (e.matches(".past, [type=radio]") || !e.checkVisibility()) continue;
      const box = e.getBoundingClientRect();
      if (box.height < 47.5 || box.width < 47.5) faults.push(`${e.outerHTML.slice(0, 90)} is ${Math.round(box.width)} by ${Math.round(box.height)} px`);
    }
    const { violations } = await globalThis.axe.run(document, { runOnly: { type: "tag", values: ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"] } });
    for (const v of violations) faults.push(`${v.id}: ${v.help}: ${v.nodes.map((n) => n.html.slice(0, 120)).join(" | ")}`);
    return faults;
  });
  faults.push(...found.map((f) => `${name} at ${width} px: ${f}`));
  if (site.shots) await page.screenshot({ path: path.join(site.shots, `${name}-${width}.png`), fullPage: true });
}

function watch(page, name) {
  page.on("console", (m) => { if (m.type() === "error" && !/status of (401|403|409|422)/.test(m.text())) faults.push(`${name}: console: ${m.text()}`); });
  page.on("pageerror", (e) => faults.push(`${name}: ${e.message}`));
}

// tabTo goes on with the Tab key until something has the focus, and sees that the focus
// can be seen.
async function tabTo(page, selector) {
  for (let i = 0; i < 40; i++) {
    await page.keyboard.press("Tab");
    const there = await page.evaluate((s) => document.activeElement?.matches(s) && getComputedStyle(document.activeElement).outlineStyle, selector);
    if (there) {
      assert.notEqual(there, "none", `the focus on ${selector} cannot be seen`);
      return;
    }
  }
  assert.fail(`no way by Tab to ${selector}`);
}

async function type(page, selector, text) {
  await tabTo(page, selector);
  await page.keyboard.type(text);
}

// The first person follows the link and names the firm, with keys alone.
async function begin(page) {
  await page.goto(`${site.url}/invitation#${site.link}`);
  await page.locator("#firm").waitFor();
  assert.equal(await page.evaluate(() => location.hash), "", "the link stays in the address");
  await check(page, "begin");
  await page.keyboard.press("Tab");
  await tabTo(page, "#firm");
  await page.keyboard.press("Control+A");
  await page.keyboard.type("Level & Daughters");
  await type(page, "#name", "Mere Kohu");
  await type(page, "#email", site.email);
  await type(page, "#password", "too short");
  await page.keyboard.press("Enter");
  assert.match(await page.locator("#password-wrong").innerText(), /at least 15 characters/);
  assert.equal(await page.inputValue("#name"), "Mere Kohu");
  await check(page, "begin-wrong");
  await type(page, "#password", password);
  await page.keyboard.press("Enter");
  await page.waitForURL(`${site.url}/`);
  assert.match(await page.locator("footer").innerText(), /Level & Daughters/);
}

// The office adds somebody and makes a link; they make their account on a phone.
async function invite(desk, phone) {
  await desk.goto(`${site.url}/people`);
  await desk.fill("#name", "Tama Reed");
  await desk.selectOption("#role", { label: "crew hand" });
  await desk.click("main form button.main");
  await check(desk, "people");
  await desk.click("a:text-is('Tama Reed')");
  await check(desk, "person");
  await desk.click("button:text-is('Invite')");
  const link = await desk.locator("#made a").innerText();
  await check(desk, "person-link");
  await phone.goto(link);
  await phone.locator("#email").waitFor();
  await check(phone, "arrival");
  await phone.fill("#email", site.hand);
  await phone.fill("#password", password);
  await phone.click("main form button.main");
  await phone.waitForURL(`${site.url}/`);
  assert.equal(await phone.locator("a[href='/people']").count(), 0, "a hand is shown the people");
  await check(phone, "jobs-of-a-hand");
  await phone.goto(`${site.url}/people`);
  assert.match(await phone.locator("main").innerText(), /This is for the office/);
  await check(phone, "refused");
}

// Signing out and in again with keys alone.
async function signInByKeys(page, email) {
  await page.goto(`${site.url}/account`);
  await tabTo(page, "footer button");
  await page.keyboard.press("Enter");
  await page.waitForURL(`${site.url}/enter`);
  await check(page, "enter");
  await type(page, "#email", email);
  await type(page, "#password", "not the right one");
  await page.keyboard.press("Enter");
  assert.match(await page.locator("#password-wrong").innerText(), /open nothing/);
  assert.equal(await page.inputValue("#email"), email);
  await check(page, "enter-wrong");
  await type(page, "#password", password);
  await page.keyboard.press("Enter");
  await page.waitForURL(`${site.url}/`);
}

// A passkey is added, opens the account without a name or a password, and is removed.
async function passkey(page) {
  const cdp = await page.context().newCDPSession(page);
  await cdp.send("WebAuthn.enable");
  await cdp.send("WebAuthn.addVirtualAuthenticator", { options: {
    protocol: "ctap2", transport: "internal", hasResidentKey: true, hasUserVerification: true, isUserVerified: true, automaticPresenceSimulation: true,
  } });
  await page.goto(`${site.url}/account`);
  await page.fill("#passkey", "Office computer");
  await page.click("button:text-is('Add a passkey')");
  await page.locator("#passkeys th:text-is('Office computer')").waitFor();
  await check(page, "account");
  for (let i = 0; i < 2; i++) { // its counter goes on
    await page.click("footer button");
    await page.waitForURL(`${site.url}/enter`);
    await page.click("button:text-is('Use a passkey')");
    await page.waitForURL(`${site.url}/`);
  }
  await page.goto(`${site.url}/account`);
  assert.match(await page.locator("#passkeys tr").innerText(), /used/);
  await page.fill("#present", password);
  await page.click("button:has-text('Do without')");
  assert.equal(await page.locator("#present").count(), 0, "the password is still there");
  await page.click("#passkeys button:text-is('Remove')");
  assert.match(await page.locator("main").innerText(), /Set a password first/);
  await page.goto(`${site.url}/account`);
  await page.fill("#password", password);
  await page.click("button:text-is('Change it')");
  await page.click("#passkeys button:text-is('Remove')");
  await page.locator("#passkeys p:has-text('None yet')").waitFor();
  await page.click("footer button");
  await page.waitForURL(`${site.url}/enter`);
  await page.click("button:text-is('Use a passkey')");
  await page.locator("#passkey-wrong:has-text('opens nothing here')").waitFor();
  await page.fill("#email", site.email);
  await page.fill("#password", password);
  await page.keyboard.press("Enter");
  await page.waitForURL(`${site.url}/`);
}

// One's own browsers are listed, and the others ended.
async function sessions(page, browser) {
  const other = await (await browser.newContext({ viewport: { width: 390, height: 844 } })).newPage();
  await other.goto(`${site.url}/enter`);
  await other.fill("#email", site.email);
  await other.fill("#password", password);
  await other.keyboard.press("Enter");
  await other.waitForURL(`${site.url}/`);
  await other.goto(`${site.url}/account`);
  await check(other, "account");
  await page.goto(`${site.url}/account`);
  await page.click("button:text-is('End all others')");
  await other.goto(`${site.url}/`);
  assert.equal(new URL(other.url()).pathname, "/enter");
}

async function tokensAndTrail(page, small) {
  await page.goto(`${site.url}/tokens`);
  await page.fill("#name", "the accounts");
  await page.click("main form button.main");
  assert.match(await page.locator("#made code").innerText(), /^rl_[0-9a-f]{32}_[0-9a-f]{64}$/);
  for (const at of [page, small]) {
    await at.goto(`${site.url}/tokens`);
    await check(at, "tokens");
    await at.goto(`${site.url}/trail`);
    await check(at, "trail");
    await at.goto(`${site.url}/people`);
    await check(at, "people");
    await at.click("a:text-is('Tama Reed')");
    await check(at, "person");
  }
  await page.goto(`${site.url}/trail`);
  const lines = await page.locator(".trail").innerText();
  for (const said of ["passkey added", "signed in, by passkey", "sign-in failed", "token made", "link made: Tama Reed"]) assert.ok(lines.includes(said), `the trail lacks ${said}`);
  assert.ok(!lines.includes(site.email), "the trail holds an address");
  await page.selectOption("#what", "token made");
  await page.click("button:text-is('Show')");
  assert.equal(await page.locator(".trail tbody tr:not(.day)").count(), 1);
}

async function run() {
  const browser = await chromium.launch({ executablePath: site.chromium, args: flags });
  try {
    const small = await (await browser.newContext({ viewport: { width: 390, height: 844 }, hasTouch: true, colorScheme: "light" })).newPage();
    const large = await (await browser.newContext({ viewport: { width: 1280, height: 860 }, colorScheme: "dark" })).newPage();
    for (const [page, name] of [[small, "phone"], [large, "desk"]]) {
      page.setDefaultTimeout(15_000);
      watch(page, name);
    }
    await begin(large);
    await invite(large, small);
    await signInByKeys(large, site.email);
    await signInByKeys(small, site.hand);
    await passkey(large);
    await sessions(large, browser);
    await small.click("footer button");
    await small.goto(`${site.url}/reset`);
    await check(small, "reset");
    await small.goto(`${site.url}/enter`);
    await small.fill("#email", site.email);
    await small.fill("#password", password);
    await small.keyboard.press("Enter");
    await small.waitForURL(`${site.url}/`);
    await tokensAndTrail(large, small);
  } finally {
    await browser.close();
  }
  assert.deepEqual(faults, []);
}

run().catch((e) => {
  console.error(e.stack ?? e.message);
  process.exit(1);
});
