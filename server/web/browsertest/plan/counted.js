// Forty supports, with what is pressed for them counted; and five hundred.
import assert from "node:assert/strict";
import { Drawer, Job, desk, grid } from "./drawer.js";

const fortyWanted = grid(5, 8).supports.map((s) => [s.id, s.x, s.y].join(" ")).sort();
const placed = (plan) => plan.supports.map((s) => [s.id, Math.round(s.x * 1000) / 1000, Math.round(s.y * 1000) / 1000].join(" ")).sort();

/** Forty supports by mouse, from the job's page to the log. */
export async function byMouse(browser) {
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
export async function byKeyboard(browser) {
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

/** A floor of 500 supports still follows the hand. What a move costs is printed. */
export async function large(browser) {
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
