import assert from "node:assert/strict";
import { test } from "node:test";
import * as edit from "../office/plan/edit.ts";
import { buttedNames, namesOf, nextPlace, rename, renumber, wrongName } from "../office/plan/naming.ts";
import { keyOf, keysOf, support, type Plan } from "../office/plan/plan.ts";
import { keyOfField, lineOf, spansOf, wrongLine } from "../office/plan/said.ts";
import { snap, strokeTo } from "../office/plan/snap.ts";

const five = (): Plan => edit.addBearers({}, { start: [0, 0], deg: 0, at: [0, 1.5, 3], count: 5, apart: 1.8 }).plan;

test("bearers are put down in one go, each support named by its number on its bearer", () => {
  const { plan, keys } = edit.addBearers({}, { start: [1, 2], deg: 90, at: [0, 1.5], count: 2, apart: -2 });
  assert.deepEqual(plan.bearers!.map((b) => [b.id, b.supports]), [["B1", ["B1-1", "B1-2"]], ["B2", ["B2-1", "B2-2"]]]);
  assert.deepEqual(plan.supports!.map((s) => [s.id, s.x, s.y]), [["B1-1", 1, 2], ["B1-2", 1, 3.5], ["B2-1", 3, 2], ["B2-2", 3, 3.5]]);
  assert.deepEqual(keys, ["bearer:B1", "bearer:B2"]);
});

test("a bearer is called by no number that names of places begin with", () => {
  const plan = edit.addBearers({ spots: [{ id: "B1-2", x: 9, y: 9 }] }, { start: [0, 0], deg: 0, at: [0, 1], count: 1, apart: 0 }).plan;
  assert.deepEqual(plan.supports!.map((s) => s.id), ["B2-1", "B2-2"]);
});

test("a bearer goes where it is moved with all it rests on, and nothing else does", () => {
  const was = five();
  const now = edit.move(was, ["bearer:B2"], [0.5, -0.25]);
  assert.deepEqual([support(now, "B2-3")!.x, support(now, "B2-3")!.y], [3.5, 1.55]);
  assert.equal(support(now, "B1-1"), support(was, "B1-1"));
  // Chosen with its supports it moves once.
  assert.deepEqual(edit.move(was, ["bearer:B2", "support:B2-1"], [0.5, -0.25]), now);
});

test("what is copied has names of its own and keeps its joins", () => {
  const joined = edit.setJoin(edit.setJoin(five(), "B1-2", "butted", {}).plan, "B2-2", "halved", {}).plan;
  const { plan, keys } = edit.copy(joined, ["bearer:B1", "support:B1-1", "bearer:B2"], [0, 9]);
  assert.deepEqual(keys, ["bearer:B6", "bearer:B7"]);
  assert.deepEqual(plan.bearers!.find((b) => b.id === "B6")!.joins, [{ at: "B6-2a", other: "B6-2b", sort: "butted" }]);
  assert.deepEqual(plan.bearers!.find((b) => b.id === "B7")!.joins, [{ at: "B7-2", sort: "halved" }]);
  assert.equal(namesOf(plan).size, plan.supports!.length);
});

test("a bearer is repeated beside itself by spacing", () => {
  const one = edit.addBearers({}, { start: [0, 0], deg: 0, at: [0, 1.2, 2.6], count: 1, apart: 0 }).plan;
  const { plan } = edit.repeatBearer(one, "B1", 4, 1.8);
  assert.equal(plan.supports!.length, 15);
  assert.deepEqual([support(plan, "B5-3")!.x, support(plan, "B5-3")!.y], [2.6, 7.2]);
});

test("what is taken off leaves no bearer without supports and no join without its end", () => {
  const joined = edit.setJoin(five(), "B1-2", "plated", {}).plan;
  const now = edit.remove(joined, ["support:B1-2", "bearer:B3"]);
  assert.deepEqual(now.bearers!.map((b) => b.id), ["B1", "B2", "B4", "B5"]);
  assert.equal(now.bearers![0]!.joins, undefined);
  assert.equal(support(now, "B3-1"), undefined);
  assert.deepEqual(edit.remove(now, keysOf(now)), {});
});

test("a support put on a bearer stands between its neighbours, beyond its ends too", () => {
  const between = edit.addOnBearer(five(), "B1", [2, 0]);
  assert.deepEqual(between.plan.bearers![0]!.supports, ["B1-1", "B1-2", "B1-2x", "B1-3"]);
  assert.deepEqual(edit.addOnBearer(five(), "B1", [4.5, 0]).plan.bearers![0]!.supports, ["B1-1", "B1-2", "B1-3", "B1-4"]);
  assert.deepEqual(edit.addOnBearer(five(), "B1", [-1, 0]).plan.bearers![0]!.supports.length, 4);
  assert.equal(edit.addOnBearer(five(), "B1", [-1, 0]).plan.bearers![0]!.supports[1], "B1-1");
  const put = edit.assign(edit.addPlace(five(), "support", [1, 0.1]).plan, "P1", "B1");
  assert.deepEqual(put.bearers![0]!.supports, ["B1-1", "P1", "B1-2", "B1-3"]);
  assert.deepEqual(edit.assign(put, "P1", "").bearers![0]!.supports, ["B1-1", "B1-2", "B1-3"]);
});

test("a butted join makes two of a support and one again", () => {
  const two = edit.setJoin(five(), "B1-2", "butted", {});
  assert.deepEqual(two.keys, ["support:B1-2a", "support:B1-2b"]);
  assert.deepEqual(two.plan.bearers![0]!.supports, ["B1-1", "B1-2a", "B1-2b", "B1-3"]);
  assert.deepEqual([support(two.plan, "B1-2a")!.x, support(two.plan, "B1-2b")!.x], [1.45, 1.55]);
  const again = edit.setJoin(two.plan, "B1-2b", undefined, {});
  assert.deepEqual(again.plan.bearers![0], five().bearers![0]);
  assert.deepEqual(support(again.plan, "B1-2"), support(five(), "B1-2"));
  const halved = edit.setJoin(two.plan, "B1-2a", "halved", {}).plan.bearers![0]!;
  assert.deepEqual([halved.supports, halved.joins], [["B1-1", "B1-2", "B1-3"], [{ at: "B1-2", sort: "halved" }]]);
});

test("records keep the name they stand under, through joins and numbering anew", () => {
  const records = { "B1-2": 3 };
  const two = edit.setJoin(five(), "B1-2", "butted", records).plan;
  assert.deepEqual(two.bearers![0]!.supports, ["B1-1", "B1-2", "B1-2b", "B1-3"]);
  const more = edit.addOnBearer(five(), "B1", [0.5, 0]).plan; // B1-1, B1-1x, B1-2, B1-3
  const { plan, kept } = renumber(more, ["B1"], records);
  assert.deepEqual(plan.bearers![0]!.supports, ["B1-1", "B1-1x", "B1-2", "B1-4"]);
  assert.deepEqual(kept, ["B1-2"]);
  assert.deepEqual(renumber(more, ["B1"], {}).plan.bearers![0]!.supports, ["B1-1", "B1-2", "B1-3", "B1-4"]);
  assert.match(wrongName(five(), "B1-9", "B1-2", records)!, /3 records/);
  assert.match(wrongName(five(), "B2-1", "B1-1", {})!, /already/);
  assert.equal(wrongName(five(), " B1-1 ", "B1-1", { "B1-1": 1 }), undefined);
});

test("numbering anew knows the two ends at a join", () => {
  const two = edit.setJoin(five(), "B1-2", "butted", {}).plan;
  const odd = rename(rename(two, "B1-2a", "left"), "B1-2b", "right");
  assert.deepEqual(odd.bearers![0]!.joins, [{ at: "left", other: "right", sort: "butted" }]);
  assert.deepEqual(renumber(odd, ["B1"], {}).plan, two);
  assert.deepEqual(buttedNames(five(), "K"), ["K-a", "K-b"]);
  assert.equal(nextPlace({ datums: [{ id: "D1", x: 0, y: 0 }] }, "datum"), "D2");
});

test("a plain house has walls that carry roof and bearers along it", () => {
  const { plan } = edit.rectangle({}, { length: 9, width: 6, apart: 1.8, spacing: 1.5 });
  assert.equal(plan.bearers!.length, 4);
  assert.equal(plan.supports!.length, 28);
  assert.equal(plan.walls!.filter((w) => w.roof).length, 4);
  assert.deepEqual([support(plan, "B4-7")!.x, support(plan, "B4-7")!.y], [9, 6]);
});

test("a point snaps to a bearer's line, to what stands level with it, and to the grid", () => {
  const how = { reach: 0.1, grid: 0.05 };
  assert.deepEqual(snap(five(), [1.47, 5.0], how).at, [1.5, 5]);
  assert.deepEqual(snap(five(), [0.72, 4.97], { ...how, reach: 0.001 }).at, [0.7, 4.95]);
  const on = snap(five(), [0.73, 1.86], { ...how, bearers: true });
  assert.deepEqual([on.at, on.bearer], [[0.75, 1.8], "B2"]);
  // What moves lines up with nothing of itself.
  const moving = new Set([keyOf("support", "B1-2")]);
  assert.deepEqual(snap({ supports: [{ id: "B1-2", x: 1.52, y: 0 }] }, [1.54, 0.3], { ...how, moving }).at, [1.55, 0.3]);
  assert.deepEqual(strokeTo([1, 1], [4, 5], 10), [7, 9]);
  assert.deepEqual(strokeTo([1, 1], [1, 1], 2), [3, 1]);
  assert.deepEqual(strokeTo([1, 1], [4, 5], undefined), [4, 5]);
});

test("a field of the plan is known by the thing it is about", () => {
  const plan = five();
  assert.equal(keyOfField(plan, "supports[4].id"), "support:B2-2");
  assert.equal(keyOfField(plan, "plan.bearers[1].width_mm"), "bearer:B2");
  assert.equal(keyOfField(plan, "walls[2]"), "wall:2");
  assert.equal(keyOfField(plan, "datums"), undefined);
  assert.equal(wrongLine(plan, "bearers[1].width_mm", "at most 2000"), "B2, wide: at most 2000");
  assert.equal(wrongLine(plan, "loads.wall_m", "at most 100"), "loads.wall_m: at most 100");
  assert.deepEqual(spansOf(plan, "B1"), [1.5, 1.5]);
  assert.equal(lineOf(plan, "support:B2-2", { words: { support: "stump", bearer: "bearer" }, feet: false }), "B2-2, stump on B2, 1.50 right, 1.80 up");
});
