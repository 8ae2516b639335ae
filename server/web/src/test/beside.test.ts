import assert from "node:assert/strict";
import { describe, it } from "node:test";
import type { Picture, Support } from "../shared/picture.ts";
import { foundBeside, spacing } from "../page/record/beside.ts";

/** A floor of one bearer, B1, on supports at these places. */
function floorOf(places: Record<string, [x: number, y: number]>, more: Partial<Picture> = {}): Picture {
  const supports = Object.entries(places).map(([id, [x, y]]) => ({ id, x, y, bearer: "B1" }) as Support);
  return { supports, plan: { bearers: [{ id: "B1", supports: Object.keys(places) }] }, ...more } as Picture;
}

const straight = floorOf({ "B1-1": [0, 1], "B1-2": [1.5, 1], "B1-3": [3, 1] });
const at = (p: Picture, id: string) => p.supports.find((s) => s.id === id)!;

describe("next along a bearer", () => {
  it("is as far beyond the last as those before are apart", () => {
    assert.deepEqual(foundBeside(straight, at(straight, "B1-3"), "next"), { what: "support", id: "B1-4", x: 4.5, y: 1, bearer: "B1", after: "B1-3" });
  });

  it("is halfway to the one after, and its name is new", () => {
    assert.deepEqual(foundBeside(straight, at(straight, "B1-1"), "next"), { what: "support", id: "B1-4", x: 0.75, y: 1, bearer: "B1", after: "B1-1" });
  });

  it("goes the way the bearer runs", () => {
    const slanting = floorOf({ "B1-1": [0, 0], "B1-2": [-3, 4] });
    const found = foundBeside(slanting, at(slanting, "B1-2"), "next", 2.5);
    assert.deepEqual([found.x, found.y], [-4.5, 6]);
  });

  it("stands where it was measured", () => {
    const found = foundBeside(straight, at(straight, "B1-3"), "next", 1.23);
    assert.deepEqual([found.x, found.y], [4.23, 1]);
  });

  it("never takes a name that there is", () => {
    const named = floorOf({ "B1-9": [0, 0] }, { spots: [{ id: "B1-10", x: 0, y: 0 }], datums: [{ id: "B1-11", x: 0, y: 0 }] });
    assert.equal(foundBeside(named, at(named, "B1-9"), "next").id, "B1-12");
    const unnumbered = floorOf({ corner: [0, 0] });
    assert.equal(foundBeside(unnumbered, at(unnumbered, "corner"), "next").id, "corner-2");
  });

  it("has a usual spacing where the bearer tells none", () => {
    const lone = floorOf({ "B1-1": [0, 0] });
    assert.equal(spacing(lone, at(lone, "B1-1")), 1.8);
    const twice = floorOf({ "B1-1": [0, 0], "B1-2": [0, 0] }); // never at the very place of another
    assert.equal(spacing(twice, at(twice, "B1-2")), 1.8);
  });
});

describe("found at a support", () => {
  it("is none here, or an end, by that support", () => {
    assert.deepEqual(foundBeside(straight, at(straight, "B1-2"), "none"), { what: "none-here", id: "B1-2" });
    assert.deepEqual(foundBeside(straight, at(straight, "B1-3"), "end"), { what: "bearer-end", id: "B1-3 end", x: 3, y: 1, bearer: "B1", after: "B1-3" });
  });

  it("is one here after all, where none was found before", () => {
    const gone = floorOf({ "B1-1": [0, 1], "B1-2": [1.5, 1] });
    at(gone, "B1-2").none_here = true;
    assert.deepEqual(foundBeside(gone, at(gone, "B1-2"), "here"), { what: "support", id: "B1-2", x: 1.5, y: 1, bearer: "B1", after: "B1-1" });
  });

  it("is the first of a floor without a plan", () => {
    assert.deepEqual(foundBeside({ supports: [], plan: {} } as unknown as Picture, undefined, "here"), { what: "support", id: "P-1", x: 0, y: 0 });
  });
});
