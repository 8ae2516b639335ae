import assert from "node:assert/strict";
import { test } from "node:test";
import * as edit from "../office/plan/edit.ts";
import { begun, done, keep, kept, last, next, redone, shown, undone, type Shelf } from "../office/plan/history.ts";
import { lost, merge, samePlan } from "../office/plan/merge.ts";
import { support, type Plan } from "../office/plan/plan.ts";

const plan = (n: number): Plan => edit.addBearers({}, { start: [0, 0], deg: 0, at: Array.from({ length: n }, (_, i) => i), count: 2, apart: 2 }).plan;

test("steps go back to the beginning and forward again, and a new one ends what was undone", () => {
  let s = done(done(begun(plan(1)), plan(2), "two"), plan(3), "three");
  assert.deepEqual([last(s), next(s)], ["three", undefined]);
  s = undone(undone(undone(s)));
  assert.deepEqual([shown(s), last(s), next(s)], [plan(1), undefined, "two"]);
  s = redone(s);
  assert.deepEqual(shown(s), plan(2));
  s = done(s, plan(5), "five");
  assert.deepEqual([next(s), last(undone(s))], [undefined, "two"]);
});

test("nudges that follow each other are one step, and nothing is no step", () => {
  let s = done(done(begun(plan(1)), plan(2), "Nudged", true), plan(3), "Nudged", true);
  assert.equal(s.steps.length, 2);
  assert.deepEqual(shown(undone(s)), plan(1));
  s = done(s, shown(s), "nothing");
  assert.equal(s.steps.length, 2);
});

class Map1 implements Shelf {
  text = new Map<string, string>();
  constructor(private most = Infinity) {}
  getItem = (name: string): string | null => this.text.get(name) ?? null;
  setItem(name: string, text: string): void {
    if (text.length > this.most) throw new Error("full");
    this.text.set(name, text);
  }
  removeItem(name: string): void {
    this.text.delete(name);
  }
}

test("a sitting outlives a reload, with all its steps", () => {
  const shelf = new Map1();
  const sitting = { ...undone(done(done(begun(plan(1)), plan(2), "two"), plan(3), "three")), base: plan(1), seen: 7, form: "f" };
  assert.ok(keep(shelf, "job", sitting));
  assert.deepEqual(kept(shelf, "job"), sitting);
  assert.equal(kept(shelf, "other"), undefined);
  shelf.setItem("job", "{broken");
  assert.equal(kept(shelf, "job"), undefined);
});

test("where there is no room the oldest steps go first, and what is shown goes last", () => {
  let s = begun(plan(1));
  for (let n = 2; n < 40; n++) s = done(s, plan(n), `step ${n}`);
  const shelf = new Map1(30_000);
  assert.ok(keep(shelf, "job", { ...s, base: plan(1), seen: 1, form: "f" }));
  const back = kept(shelf, "job")!;
  assert.deepEqual(shown(back), plan(39));
  assert.ok(back.steps.length < s.steps.length && back.steps.length > 0);
  assert.equal(keep(new Map1(100), "job", { ...s, base: plan(1), seen: 1, form: "f" }), false);
});

test("what only one of two changed is as he left it", () => {
  const base = plan(3);
  const mine = edit.move(base, ["support:B1-2"], [0.5, 0]);
  const theirs = edit.addPlace(edit.addOnBearer(base, "B2", [0.5, 2]).plan, "datum", [9, 9]).plan;
  const { plan: both, both: clash } = merge(base, mine, theirs);
  assert.deepEqual(clash, []);
  assert.equal(support(both, "B1-2")!.x, 1.5);
  assert.deepEqual(both.bearers!.find((b) => b.id === "B2")!.supports, ["B2-1", "B2-1x", "B2-2", "B2-3"]);
  assert.equal(both.datums!.length, 1);
});

test("what both changed stays as it is here and is named", () => {
  const base = plan(3);
  const { plan: now, both } = merge(base, edit.move(base, ["support:B1-2"], [0.5, 0]), edit.move(base, ["support:B1-2"], [0, 0.5]));
  assert.deepEqual(both, ["B1-2"]);
  assert.deepEqual([support(now, "B1-2")!.x, support(now, "B1-2")!.y], [1.5, 0]);
});

test("what one took off is off, unless the other changed it; no bearer rests on nothing", () => {
  const base = plan(3);
  const off = edit.remove(base, ["support:B1-3"]);
  assert.equal(support(merge(base, edit.move(base, ["support:B2-1"], [1, 0]), off).plan, "B1-3"), undefined);
  const kept = merge(base, edit.move(base, ["support:B1-3"], [1, 0]), off);
  assert.equal(support(kept.plan, "B1-3")!.x, 3);
  const gone = merge(base, edit.remove(base, ["bearer:B1"]), edit.addOnBearer(base, "B1", [0.5, 0]).plan);
  for (const b of gone.plan.bearers ?? []) for (const s of b.supports) assert.ok(support(gone.plan, s), `${b.id} rests on ${s}`);
});

test("walls and rooms have no names: what says the same is the same", () => {
  const base: Plan = { walls: [{ from: [0, 0], to: [1, 0] }, { from: [1, 0], to: [1, 1] }], street: "top" };
  const mine: Plan = { walls: [{ from: [0, 0], to: [1, 0] }], street: "top" };
  const theirs: Plan = { walls: [...base.walls!, { from: [1, 1], to: [0, 1], roof: true }], street: "left" };
  assert.deepEqual(merge(base, mine, theirs).plan, { walls: [{ from: [0, 0], to: [1, 0] }, { from: [1, 1], to: [0, 1], roof: true }], street: "left" });
});

test("the order of fields says nothing", () => {
  assert.ok(samePlan({ spots: [{ id: "S1", x: 1, y: 2 }] }, { spots: [{ y: 2, x: 1, id: "S1" }] }));
  assert.deepEqual(lost(plan(3), edit.remove(plan(3), ["support:B2-3"])), ["B2-3"]);
});
