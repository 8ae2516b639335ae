import assert from "node:assert/strict";
import { describe, it } from "node:test";
import type { Plan } from "../shared/picture.ts";
import { between, placeAt, sidesOf, sized, stepBy, turned, viewOf, type Place } from "../page/record/ground.ts";

const plan: Plan = {
  supports: [{ id: "B1-1", x: 0, y: 0 }, { id: "B1-2", x: 6, y: 3 }],
  rooms: [{ name: "bath", outline: [[4, 1], [6.4, 1], [6.4, 3], [4, 3]] }],
};

describe("a place that a finger shows", () => {
  it("is the same one whichever way the floor is turned", () => {
    for (const turn of [0, 1, 2, 3]) {
      const view = viewOf(plan, "", turn);
      const [u, v] = turned([4.2, 1.35], turn);
      assert.deepEqual(placeAt(view, (u - view.left) / view.wide, (v - view.top) / view.high), [4.2, 1.35], `${turn} quarters`);
    }
  });

  it("turns clockwise and is never mirrored", () => {
    const right: Place = [1, 0];
    assert.deepEqual([0, 1, 2, 3].map((turn) => turned(right, turn).map((n) => n || 0)), [[1, 0], [0, 1], [-1, 0], [0, -1]]);
  });

  it("is seen in its room, with some ground around", () => {
    const view = viewOf(plan, "bath", 0);
    assert.deepEqual([view.left, view.top, view.wide, view.high].map((n) => Math.round(n * 100) / 100), [3.6, -3.4, 3.2, 2.8]);
    assert.deepEqual(viewOf(plan, "a shed", 0), viewOf(plan, "", 0), "of a room that no plan has all is seen");
  });

  it("beside the drawing is at its edge", () => {
    const view = viewOf(plan, "bath", 0);
    assert.deepEqual(placeAt(view, -1, 2), [3.6, 0.6]);
  });

  it("goes by steps to where the arrow points", () => {
    assert.deepEqual(stepBy([1, 1], 1, 0, 0), [1.05, 1]);
    assert.deepEqual(stepBy([1, 1], 0, 1, 0), [1, 0.95]);
    assert.deepEqual(stepBy([1, 1], 1, 0, 1), [1, 1.05], "with the street at the left the plan's right is down");
  });
});

describe("a cut", () => {
  const cut = between([4.5, 1.5], [5.1, 2.4]);

  it("goes round its four corners", () => {
    assert.deepEqual(cut, [[4.5, 1.5], [5.1, 1.5], [5.1, 2.4], [4.5, 2.4]]);
  });

  it("has its sides as they are drawn", () => {
    assert.deepEqual(sidesOf(cut, 0), [0.6, 0.9]);
    assert.deepEqual(sidesOf(cut, 1), [0.9, 0.6]);
  });

  it("keeps its first corner and its way with sides that were measured", () => {
    assert.deepEqual(sized(cut, [0.612, 0.9], 0)[2], [5.112, 2.4]);
    assert.deepEqual(sized(between([5.1, 2.4], [4.5, 1.5]), [0.7, 1], 0)[2], [4.4, 1.4]);
    assert.deepEqual(sized(cut, [1.2, 0.6], 3)[2], [5.1, 2.7]);
  });
});
