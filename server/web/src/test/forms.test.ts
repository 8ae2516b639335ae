import assert from "node:assert/strict";
import { describe, it } from "node:test";
import type { Item, Picture } from "../shared/picture.ts";
import { bodyFor, conditionOf, safetyCheckOf } from "../page/record/bodies.ts";
import { bodyOf, choicesOf, formOf, wanting } from "../page/record/forms.ts";

const item = (more: Partial<Item>) => ({ id: "", seq: 1, at: "", by: "", text: "", ...more }) as Item;

describe("bodies", () => {
  it("say nothing that is empty, and keep a no", () => {
    assert.deepEqual(bodyFor("finding", { what: " rotten ", cause: "", supports: [], trade: " " }), { what: "rotten" });
    assert.deepEqual(bodyFor("day-end", { left: [], done: "", out: false, on: undefined }), { out: false });
  });

  it("of a room join the words of each part, and free words stand with the walls", () => {
    assert.deepEqual(bodyFor("condition", conditionOf("hall", { doors: ["bind", "do not latch"], tiles: [] }, "an old crack", "")), { room: "hall", walls: "an old crack", doors: "bind, do not latch" });
  });

  it("of a safety check hold what was struck off, and not what was taken back", () => {
    assert.deepEqual(safetyCheckOf(["a", "b", "c"], { a: "XY", b: "" }, "", []).sentences, [{ sentence: "a", initials: "XY" }]);
  });
});

describe("forms", () => {
  it("put fields where the body has them", () => {
    const filled = { "airing.rule": "irc", "airing.vents_mm2": "9000, 4500", "airing.sealed": true, "moisture[0].where": "bearer", "moisture[0].pct": "18,5", "ground": "  " };
    assert.deepEqual(bodyOf(formOf("under-floor"), filled), { airing: { rule: "irc", vents_mm2: [9000, 4500], sealed: true }, moisture: [{ where: "bearer", pct: 18.5 }] });
  });

  for (const [kind, filled, want] of [
    ["tie-back", { tie: "T1" }, ["tested", "left"]],
    ["tie-back", { tie: "T1", left: "not ours" }, []],
    ["under-floor", {}, ["ground", "clearance_mm", "airing.rule", "note"]],
    ["under-floor", { "airing.wall_m": "30", "ground": "dry" }, ["airing.rule"]],
    ["under-floor", { "moisture[0].where": "bearer" }, ["pct"]],
    ["under-floor", { "moisture[1].pct": "18" }, ["support", "where"]],
    ["instrument-check", { sort: "half-turn", instrument: "laser", distance_m: "30" }, ["difference"]],
  ] as const) {
    it(`of ${kind} want ${want.join(" or ") || "nothing more"} beside ${JSON.stringify(filled)}`, () => {
      assert.deepEqual(wanting(formOf(kind), filled).map((f) => f.name), want);
    });
  }
});

describe("choices", () => {
  const lists: Picture["lists"] = {
    ties: [item({ name: "T1", text: "pipe", closed: "recorded again" }), item({ name: "T1", text: "pipe", closed: "freed" }), item({ name: "T2", text: "stair", open: true })],
    cuts: [item({ name: "C1", text: "hall", open: true, closed: "board over it" })],
    findings: [item({ id: "1", text: "rotten", open: true }), item({ id: "2", text: "wet", closed: "dried" })],
  };
  const picture = { supports: [{ id: "B1-1" }, { id: "B1-2", none_here: true }], plan: {}, lists, blockings: [{ place: "K1", supports: ["B1-1"] }] } as unknown as Picture;
  const values = (from: string) => choicesOf(from, picture, undefined).map((c) => c.value);

  it("hold a tie that was freed, to be put back, after those that hold", () => assert.deepEqual(values("ties"), ["T2", "T1"]));
  it("hold a cut that is covered for the night", () => assert.deepEqual(values("cuts"), ["C1"]));
  it("hold only findings that are open", () => assert.deepEqual(values("findings"), ["1"]));
  it("hold blocking by its own name", () => assert.deepEqual(values("blockings"), ["K1"]));
  it("hold no support that is not there", () => assert.deepEqual(values("supports"), ["B1-1"]));
});
