// What fingers do on a phone.
import assert from "node:assert/strict";
import { Drawer, Job, grid, hand } from "./drawer.js";

/** The same page in the hand: one finger moves the sheet or a thing, two enlarge it. */
export async function inTheHand(browser) {
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
