import assert from "node:assert/strict";
import { test } from "node:test";
import { begin, held, into, moved, pinched, sheetOf, turned, whole, zoomed, type Look, type Place, type Size } from "../page/zoom.ts";

const sheet: Size = { wide: 2000, high: 1200 };
const hand: Size = { wide: 360, high: 500 };

/** What of the drawing is under a place of the window. */
function under(look: Look, at: Place): Place {
  return { x: (at.x - look.x) / look.scale, y: (at.y - look.y) / look.scale };
}

function near(a: Place, b: Place): void {
  assert.ok(Math.hypot(a.x - b.x, a.y - b.y) < 1e-6, `${a.x} ${a.y} is not ${b.x} ${b.y}`);
}

test("a drawing says how large it is", () => {
  const svg = `<svg xmlns="http://www.w3.org/2000/svg" class="floor large" width="2097.5" height="1300" viewBox="0 0 2097.5 1300">`;
  assert.deepEqual(sheetOf(svg), { wide: 2097.5, high: 1300 });
  assert.deepEqual(sheetOf(""), { wide: 1, high: 1 });
});

test("the whole drawing is in the window, in its middle, and never larger than full size", () => {
  const all = whole(sheet, hand);
  assert.equal(all.scale, 0.18);
  assert.equal(all.x, 0);
  assert.equal(all.y, (500 - 1200 * 0.18) / 2);
  assert.deepEqual(whole({ wide: 100, high: 100 }, hand), { scale: 1, x: 130, y: 200 });
});

test("one begins at full size in the middle, or with all of a small drawing", () => {
  assert.deepEqual(begin(sheet, hand), { scale: 1, x: (360 - 2000) / 2, y: (500 - 1200) / 2 });
  assert.deepEqual(begin({ wide: 300, high: 200 }, hand), { scale: 1, x: 30, y: 150 });
  assert.deepEqual(begin(sheet, hand, { x: 1000, y: 300 }), { scale: 1, x: 180 - 1000, y: 250 - 300 }, "around a place");
  assert.deepEqual(begin(sheet, hand, { x: 40, y: 1190 }), { scale: 1, x: 0, y: 500 - 1200 }, "and never beyond an edge");
});

test("what is under the finger stays there while it grows", () => {
  const at = { x: 200, y: 260 };
  const before = zoomed(whole(sheet, hand), 5, at, sheet, hand);
  const after = zoomed(before, 1.4, at, sheet, hand);
  assert.ok(after.scale > before.scale);
  near(under(before, at), under(after, at));
});

test("no zoom goes past the whole or past three times full size", () => {
  let look = whole(sheet, hand);
  for (let i = 0; i < 20; i++) look = zoomed(look, 1.5, { x: 10, y: 10 }, sheet, hand);
  assert.equal(look.scale, 3);
  for (let i = 0; i < 20; i++) look = zoomed(look, 1 / 1.5, { x: 300, y: 400 }, sheet, hand);
  assert.deepEqual(look, whole(sheet, hand));
});

test("no drag leaves a part of the window empty", () => {
  const close: Look = held({ scale: 1, x: -500, y: -300 }, sheet, hand);
  assert.deepEqual(moved(close, { x: 9000, y: 9000 }, sheet, hand), { scale: 1, x: 0, y: 0 });
  assert.deepEqual(moved(close, { x: -9000, y: -9000 }, sheet, hand), { scale: 1, x: 360 - 2000, y: 500 - 1200 });
  assert.deepEqual(moved(close, { x: 12, y: -7 }, sheet, hand), { scale: 1, x: -488, y: -307 });
});

test("both fingers keep what they hold", () => {
  const look: Look = { scale: 0.8, x: -300, y: -200 };
  const from: [Place, Place] = [{ x: 100, y: 200 }, { x: 200, y: 200 }];
  const to: [Place, Place] = [{ x: 80, y: 230 }, { x: 230, y: 230 }];
  const after = pinched(look, from, to, sheet, hand);
  assert.ok(Math.abs(after.scale - 0.8 * 1.5) < 1e-9);
  near(under(look, from[0]), under(after, to[0]));
  near(under(look, from[1]), under(after, to[1]));
});

test("what is in the middle stays there when the drawing is turned", () => {
  const look: Look = { scale: 1, x: -700, y: -450 };
  const is = under(look, { x: 180, y: 250 });
  const on = { wide: sheet.high, high: sheet.wide };
  const quarter = turned(look, 1, sheet, on, hand);
  near(under(quarter, { x: 180, y: 250 }), { x: sheet.high - is.y, y: is.x });
  const back = turned(quarter, 3, on, sheet, hand);
  assert.ok(Math.abs(back.x - look.x) < 1e-6 && Math.abs(back.y - look.y) < 1e-6);
});

test("a support that is reached by keyboard comes into the window, and no further", () => {
  const look: Look = { scale: 1, x: -500, y: -300 };
  assert.deepEqual(into(look, { x: 30, y: 40, wide: 50, high: 50 }, sheet, hand), look);
  assert.deepEqual(into(look, { x: -20, y: 480, wide: 50, high: 50 }, sheet, hand), { scale: 1, x: -480, y: -330 });
});
