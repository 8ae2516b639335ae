// Two people changed one plan. What only one of them touched is as he left it; what
// both touched stays as it is here, and is named.
import { isPlace, keyOf, listOf, parts, type Key, type Plan, type Sort } from "./plan.ts";

export interface Merged { plan: Plan; both: string[] }

const named: Sort[] = ["support", "spot", "datum", "bearer"];
const unnamed: Sort[] = ["wall", "room", "fixed", "door", "hatch"];
const single = ["joists", "street", "underlay", "loads"] as const;

export function merge(base: Plan, mine: Plan, theirs: Plan): Merged {
  const out: Plan = {};
  const both: string[] = [];
  for (const sort of named) set(out, sort, byName(listAt(base, sort), listAt(mine, sort), listAt(theirs, sort), both));
  for (const sort of unnamed) set(out, sort, asSet(listAt(base, sort), listAt(mine, sort), listAt(theirs, sort)));
  for (const name of single) {
    const chosen = choose(base[name], mine[name], theirs[name], () => both.push(name));
    if (chosen !== undefined) Object.assign(out, { [name]: chosen });
  }
  return { plan: mend(out), both };
}

type One = Record<string, unknown> & { id?: string };

function listAt(plan: Plan, sort: Sort): One[] {
  return (plan[listOf[sort]] ?? []) as unknown as One[];
}

function set(plan: Plan, sort: Sort, list: One[]): void {
  if (list.length) Object.assign(plan, { [listOf[sort]]: list });
}

const same = (a: unknown, b: unknown): boolean => text(a) === text(b);

/** JSON with its names in order, so that what is the same reads the same. */
function text(v: unknown): string {
  return JSON.stringify(v, (_, one: unknown) =>
    one && typeof one === "object" && !Array.isArray(one) ? Object.fromEntries(Object.entries(one).sort(([a], [b]) => (a < b ? -1 : 1))) : one) ?? "";
}

function choose<T>(base: T, mine: T, theirs: T, clash: () => void): T {
  if (same(mine, theirs) || same(theirs, base)) return mine;
  if (!same(mine, base)) clash();
  return same(mine, base) ? theirs : mine;
}

function byName(base: One[], mine: One[], theirs: One[], both: string[]): One[] {
  const at = (list: One[]): Map<string, One> => new Map(list.map((one) => [one.id!, one]));
  const [b, m, t] = [at(base), at(mine), at(theirs)];
  const order = [...new Set([...m.keys(), ...t.keys()])];
  return order.flatMap((id): One[] => {
    const chosen = choose<One | undefined>(b.get(id), m.get(id), t.get(id), () => both.push(id));
    return chosen ? [chosen] : [];
  });
}

/** Things without a name are the same where they say the same. */
function asSet(base: One[], mine: One[], theirs: One[]): One[] {
  const has = (list: One[], one: One): boolean => list.some((o) => same(o, one));
  return [...mine.filter((one) => !(has(base, one) && !has(theirs, one))), ...theirs.filter((one) => !has(base, one) && !has(mine, one))];
}

/** A bearer rests on supports that are there, each on one alone. */
function mend(plan: Plan): Plan {
  const there = new Set((plan.supports ?? []).map((s) => s.id));
  const held = new Set<string>();
  const bearers = (plan.bearers ?? []).map((b) => {
    const supports = b.supports.filter((s) => there.has(s) && !held.has(s) && held.add(s));
    const joins = (b.joins ?? []).filter((j) => supports.includes(j.at) && (!j.other || Math.abs(supports.indexOf(j.at) - supports.indexOf(j.other)) === 1 && supports.includes(j.other)));
    const { joins: _, ...rest } = b;
    return { ...rest, supports, ...(joins.length ? { joins } : {}) };
  });
  return bearers.length ? { ...plan, bearers } : plan;
}

/** The names of places that one plan has and another has not. */
export function lost(was: Plan, now: Plan): string[] {
  const at = (plan: Plan): Key[] => (Object.keys(listOf) as Sort[]).filter(isPlace).flatMap((sort) => (plan[listOf[sort]] ?? []).map((p) => keyOf(sort, p.id)));
  const there = new Set(at(now).map((k) => parts(k).id));
  return at(was).map((k) => parts(k).id).filter((id) => !there.has(id));
}

/** Whether two plans say the same. */
export const samePlan = (a: Plan, b: Plan): boolean => same(a, b);
