import assert from "node:assert/strict";
import { describe, it } from "node:test";
import type { Gap, Left, Picture } from "../shared/picture.ts";
import { gapOf } from "../page/record/bodies.ts";
import { remedies } from "../page/record/remedies.ts";

const picture = {
  supports: [{ id: "B1-1" }, { id: "B1-2", on_blocking: true }, { id: "B1-3" }],
  blockings: [{ place: "K1", supports: ["B1-2"] }],
  lists: {
    cuts: [{ name: "C1", text: "hall", open: true }],
    ties: [{ name: "T1", text: "waste pipe", closed: "freed" }, { name: "T2", text: "waste pipe", open: true }],
  },
} as unknown as Picture;

describe("what is left at the day's end", () => {
  for (const [place, what, want] of [
    ["B1-1", "on a jack", ["packing?support=B1-1&sort=final&then=day-end", "blocking?supports=B1-1&then=day-end", "support/B1-1"]],
    ["B1-2", "on blocking", ["blocking-removed?place=K1&then=day-end", "support/B1-2"]],
    ["B1-2", "out", ["support-work?support=B1-2&step=set&then=day-end", "support/B1-2"]], // it is on blocking already
    ["B1-3", "out", ["blocking?supports=B1-3&then=day-end", "support-work?support=B1-3&step=set&then=day-end", "support/B1-3"]],
    ["C1", "floor cut not covered", ["floor-closed?cut=C1&covered=1&then=day-end", "floor-closed?cut=C1&then=day-end"]],
    ["waste pipe", "tie not back", ["tie-back?tie=T1&then=day-end"]], // not the one that holds
    ["people", "not said to be out", []],
    ["gas", "still off", []],
  ] as const) {
    it(`${place} ${what}`, () => {
      const ways = remedies("job", picture, { place, what } as Left).map((r) => r.to.replace(/^#\/job\/job\/(do\/)?/, ""));
      assert.deepEqual(ways, want);
    });
  }
});

describe("a gap", () => {
  const known = { name: "crack 2", what: "crack", near: "hall", watch_limit: "5 mm" } as Gap;
  const p = { gaps: [{ name: "crack 1" }, known] } as unknown as Picture;
  const width = { value: 3, unit: "mm" } as const;

  it("that is known is read by its name, and keeps what was said of it", () => {
    assert.deepEqual(gapOf(p, known, { what: "door", near: "kitchen", width }), { gap: "crack 2", what: "crack", near: "hall", width, watch: undefined });
  });

  it("that is new is counted on", () => {
    assert.equal(gapOf(p, undefined, { what: "crack", width }).gap, "crack 3");
    assert.equal(gapOf(p, undefined, { what: "tile-joint", width }).gap, "tile-joint 1");
  });
});
