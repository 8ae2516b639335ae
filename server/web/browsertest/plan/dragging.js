// What a mouse does.
import assert from "node:assert/strict";
import { Drawer, Job, desk, grid } from "./drawer.js";

/** Dragging, snapping, lengths typed while dragging, several at once, steps back. */
export async function dragging(browser) {
  const job = await Job.begin("Dragging");
  await job.post("plan", { ...grid(2, 4), rooms: [{ name: "hall", outline: [[0, 3], [3, 3], [3, 5], [0, 5]] }] });
  const d = await Drawer.enter(browser, desk);
  await d.open(job);
  const where = async (id) => {
    await d.letGo();
    await d.page.fill("label:has-text('Choose by name') input", id);
    await d.page.press("label:has-text('Choose by name') input", "Enter");
    const value = (name) => d.page.locator(`section[aria-label='What is chosen'] .field:has(label:text-is('${name}')) input`).inputValue();
    return [Number(await value("Right")), Number(await value("Up"))];
  };
  // Nearly beside B1-2 and nearly on its bearer: it stands on the line, and level with it.
  const from = await d.at("support:B2-2"), below = await d.at("support:B1-2");
  await d.drag(from, { x: below.x + 4, y: from.y + 5 });
  assert.deepEqual(await where("B2-2"), [1.5, 1.8]);
  // A length that is typed counts to the millimetre, whatever the hand shows.
  const third = await d.at("support:B2-3");
  await d.drag(third, { x: third.x + 37, y: third.y + 2 }, async () => {
    await d.type("0.4");
    await d.press("Enter");
  });
  assert.deepEqual(await where("B2-3"), [3.4, 1.8]);
  await d.letGo();
  await d.press("Control+z");
  assert.deepEqual(await where("B2-3"), [3, 1.8]);
  await d.letGo();
  await d.press("Control+y");
  assert.deepEqual(await where("B2-3"), [3.4, 1.8]);
  // A box takes several, shift one more; they move together.
  await d.letGo();
  const [a, b] = [await d.at("support:B1-1"), await d.at("support:B1-2")];
  await d.drag({ x: a.x - 30, y: a.y - 30 }, { x: b.x + 30, y: b.y + 50 });
  assert.equal(await d.chosen(), "B1-1 and B1-2");
  const last = await d.at("support:B1-4");
  await d.page.keyboard.down("Shift");
  await d.tap(last);
  await d.page.keyboard.up("Shift");
  assert.equal(await d.chosen(), "B1-1, B1-2 and B1-4");
  await d.press("ArrowDown");
  assert.deepEqual(await where("B1-4"), [4.5, -0.01]);
  // A corner of a room.
  await d.page.fill("label:has-text('Choose by name') input", "hall");
  await d.page.press("label:has-text('Choose by name') input", "Enter");
  const corner = await d.page.locator("[data-corner='2'] .halo").boundingBox();
  await d.drag({ x: corner.x + 14, y: corner.y + 14 }, { x: corner.x + 14 + 60, y: corner.y + 14 });
  assert.notEqual(await d.page.locator(".field:has(label:text-is('Corners')) input").inputValue(), "0 3, 3 3, 3 5, 0 5");
  await d.letGo();
  await d.press("Control+z");
  // A room by dragging, a wall by two touches, and a bearer to which a support goes.
  await d.click(".plan-tools >> text=Room");
  await d.drag(await d.on(0.7, 0.1), await d.on(0.9, 0.3));
  await d.click(".plan-tools >> text=Stump");
  await d.page.mouse.move((a.x + b.x) / 2, a.y - 8);
  await d.tap({ x: (a.x + b.x) / 2, y: a.y - 12 });
  assert.match(await d.chosen(), /^B1-1x$/);
  // Zoom and turn: what is turned is never mirrored.
  await d.page.mouse.move(a.x, a.y);
  await d.page.mouse.wheel(0, -300);
  await d.click(".plan-under >> text=Turn a quarter");
  await d.press("0");
  const [one, four] = [await d.at("support:B1-2"), await d.at("support:B1-4")];
  assert.ok(four.y > one.y + 40 && Math.abs(four.x - one.x) < 12, "a quarter clockwise: what was to the right is below");
  await d.look("turned");
  // A reload loses nothing, and there is a way back to what is recorded.
  await d.page.reload();
  await d.page.waitForSelector(".plan-sheet");
  assert.match(await d.page.locator(".plan-record").innerText(), /Not recorded yet/);
  assert.deepEqual(await where("B2-3"), [3.4, 1.8]);
  await d.click("button:text-is('Back to what is recorded')");
  assert.deepEqual(await where("B2-3"), [3, 1.8]);
  await d.letGo();
  await d.press("Control+z");
  assert.deepEqual(await where("B2-3"), [3.4, 1.8]);
  await d.page.context().close();
}
