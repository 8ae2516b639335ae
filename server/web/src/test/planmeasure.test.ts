import assert from "node:assert/strict";
import { test } from "node:test";
import { along, bearing, direction, onLine, round } from "../office/plan/geometry.ts";
import { fitOf, scaled, toMetres, toPixels } from "../office/plan/lay.ts";
import { fieldLength, parseLength, parseSpans, showLength, Untold } from "../office/plan/measure.ts";
import type { Position } from "../office/plan/plan.ts";
import { fit, pinched, toPlan, toSheet, zoomed, type View } from "../office/plan/view.ts";

function near(a: number | undefined, b: number, within = 1e-9): void {
  assert.ok(a !== undefined && Math.abs(a - b) <= within, `${a} is not ${b}`);
}

test("a length is metres, or whatever unit it names", () => {
  for (const [text, metres] of [["1.5", 1.5], ["1,5", 1.5], [".4", 0.4], ["1500mm", 1.5], ["150 cm", 1.5], ["−2", -2], ["- 2", undefined], ["5'", 1.524], ["5' 6\"", 1.6764], ["5 ft 6 in", 1.6764], ["6 1/2\"", 0.1651], ["1/2\"", 0.0127], ["", undefined], ["two", undefined], ["1.5.2", undefined]] as [string, number | undefined][]) {
    const got = parseLength(text, false);
    if (metres === undefined) assert.equal(got, undefined, text);
    else near(got, metres, 1e-6);
  }
  near(parseLength("5", true), 1.524);
  near(parseLength("1.57 m", true), 1.57);
});

test("a length is shown as it is typed, and can be typed again", () => {
  assert.equal(showLength(1.5, false), "1.50");
  assert.equal(showLength(-1.505, false), "−1.505");
  assert.equal(showLength(1.524, true), "5′");
  assert.equal(showLength(1.6764, true), "5′ 6″");
  assert.equal(showLength(0.1651, true), "6.5″");
  for (const metres of [0, 0.3, 1.524, 7.9248, -2.1336]) {
    near(parseLength(fieldLength(metres, true), true), metres, 0.0127 / 2 + 1e-9);
    near(parseLength(fieldLength(metres, false), false), metres, 0.0005);
  }
});

test("supports along a bearer: so many so far apart, or the spans one by one", () => {
  assert.deepEqual(parseSpans("7 x 1.5", false), [0, 1.5, 3, 4.5, 6, 7.5, 9]);
  assert.deepEqual(parseSpans("3×1200 mm", false), [0, 1.2, 2.4]);
  assert.deepEqual(parseSpans("1.2 1.4 1.5", false), [0, 1.2, 2.6, 4.1]);
  assert.deepEqual(parseSpans("1.2 m 1400mm", false), [0, 1.2, 2.6]);
  assert.deepEqual(parseSpans("5'; 5' 6\"", true), [0, 1.524, 3.2]);
  assert.deepEqual(parseSpans("1 x 1.5", false), [0]);
  for (const wrong of ["", "x", "0 x 1.5", "7 x", "7 x -1", "1.2 0", "1.2 up", "999 x 1"]) assert.throws(() => parseSpans(wrong, false), Untold, wrong);
});

test("quarters are exact", () => {
  assert.deepEqual(direction(90), [0, 1]);
  assert.deepEqual(along([1, 2], 180, [0, 1.5]), [[1, 2], [-0.5, 2]]);
  assert.equal(bearing([0, 0], [0, -3]), 270);
  assert.equal(Object.is(round(-0.0001), 0), true);
  assert.deepEqual(onLine([3, 5], [0, 0], [10, 0]), { at: [3, 0], t: 0.3 });
  assert.equal(onLine([3, 5], [1, 1], [1, 1]).t, 0);
});

test("what is turned and zoomed comes back to the same place", () => {
  const p: Position = [3.2, -1.7];
  for (let turn = 0; turn < 4; turn++) {
    const v: View = { turn, scale: 37, x: 11, y: 222 };
    const back = toPlan(v, toSheet(v, p));
    near(back[0], p[0]);
    near(back[1], p[1]);
  }
  // A quarter clockwise: what was to the right is below.
  const [o, r] = [toSheet({ turn: 1, scale: 1, x: 0, y: 0 }, [0, 0]), toSheet({ turn: 1, scale: 1, x: 0, y: 0 }, [1, 0])];
  assert.deepEqual([r.x - o.x, r.y - o.y], [0, 1]);
});

test("what is under the fingers stays under them", () => {
  const v: View = { turn: 2, scale: 60, x: 100, y: 90 };
  const at = { x: 200, y: 50 };
  const [a, b] = [toPlan(v, at), toPlan(zoomed(v, 1.7, at), at)];
  near(a[0], b[0]);
  near(a[1], b[1]);
  const two = pinched(v, [{ x: 100, y: 100 }, { x: 200, y: 100 }], [{ x: 90, y: 120 }, { x: 290, y: 120 }]);
  near(two.scale, 120);
  near(toSheet(two, toPlan(v, { x: 100, y: 100 })).x, 90);
});

test("all of a plan is in the window, however it is turned", () => {
  const plan = { supports: [{ id: "a", x: -2, y: 1 }, { id: "b", x: 12, y: 5 }] };
  for (let turn = 0; turn < 4; turn++) {
    const v = fit(plan, turn, { wide: 390, high: 500 });
    for (const s of plan.supports) {
      const at = toSheet(v, [s.x, s.y]);
      assert.ok(at.x > 0 && at.x < 390 && at.y > 0 && at.y < 500, `turn ${turn}: ${at.x} ${at.y}`);
    }
  }
});

test("a picture lies where its two points lie, turned and never mirrored", () => {
  const u = { sha256: "", pixels: [[100, 400], [500, 400]] as [Position, Position], metres: [[1, 2], [1, 10]] as [Position, Position] }; // its right is up
  const f = fitOf(u);
  assert.deepEqual(toMetres(f, [100, 400]).map(round), [1, 2]);
  assert.deepEqual(toMetres(f, [500, 400]).map(round), [1, 10]);
  assert.deepEqual(toMetres(f, [100, 0]).map(round), [-7, 2]); // up in the picture is left on the plan
  assert.deepEqual(toPixels(f, [-7, 2]).map(round), [100, 0]);
  const level = scaled(u, [1, 2], [1.2, 10], 9.6, "level");
  assert.deepEqual(level.metres, [[1, 2], [10.6, 2]]);
  assert.deepEqual(toMetres(fitOf(level), level.pixels[1]).map(round), [10.6, 2]);
  assert.deepEqual(scaled(u, [1, 2], [1, 10], 4, "as it lies").metres, [[1, 2], [1, 6]]);
  assert.deepEqual(scaled(u, [1, 2], [0.5, -7], 4, "upright").metres, [[1, 2], [1, -2]]);
});
