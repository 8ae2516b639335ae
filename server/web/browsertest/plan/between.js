// What others record while somebody draws.
import assert from "node:assert/strict";
import { Drawer, Job, desk, grid } from "./drawer.js";

/** Somebody finds a support below while the office draws. */
export async function between(browser) {
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
