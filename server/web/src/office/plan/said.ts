// A plan in words, for the list beside the drawing and for who does not see it.
import { distance } from "./geometry.ts";
import { showLength } from "./measure.ts";
import { bearerOf, isPlace, keyOf, listOf, outlineOf, parts, support, type Key, type Plan, type Position, type Sort } from "./plan.ts";

/** The trade's words, of which a region has its own. */
export interface Speech { words: Record<string, string>; feet: boolean }

/** What a sort of thing is called. */
export function sortWord(sort: Sort, s: Speech): string {
  switch (sort) {
    case "support": case "bearer": case "datum": return s.words[sort] ?? sort;
    case "fixed": return "fixed thing";
    default: return sort;
  }
}

/** The short name of a thing. */
export function nameOf(plan: Plan, key: Key): string {
  const { sort, id } = parts(key);
  if (sort === "bearer" || isPlace(sort)) return id;
  if (sort === "wall") return `Wall ${Number(id) + 1}`;
  const t = plan[listOf[sort]]?.[Number(id)];
  return t?.name || `${sort[0]!.toUpperCase()}${sort.slice(1)} ${Number(id) + 1}`;
}

/** A thing in a line: "B1-3, stump on B1, 3.00 right, 0.60 up". */
export function lineOf(plan: Plan, key: Key, s: Speech): string {
  const { sort, id } = parts(key);
  const say = (m: number): string => showLength(m, s.feet);
  const at = outlineOf(plan, key);
  const first = at[0] ?? [0, 0];
  const where = `${say(first[0])} right, ${say(first[1])} up`;
  switch (sort) {
    case "support": return `${id}, ${s.words["support"]}${bearerOf(plan, id) ? ` on ${bearerOf(plan, id)!.id}` : ""}, ${where}`;
    case "spot": return `${id}, spot, ${where}`;
    case "datum": return `${id}, ${s.words["datum"]}${plan.datums?.find((d) => d.id === id)?.off_building ? " off the building" : ""}, ${where}`;
    case "bearer": return `${id}, ${s.words["bearer"]} of ${at.length} ${s.words["support"]}s, ${say(lengthOf(at))} long`;
    case "wall": return `${nameOf(plan, key)}, ${say(lengthOf(at))} long, from ${where}`;
    default: return `${nameOf(plan, key)}, ${sortWord(sort, s)}, from ${where}`;
  }
}

function lengthOf(at: Position[]): number {
  const [first, last] = [at[0], at[at.length - 1]];
  return first && last ? distance(first, last) : 0;
}

/** Several things: "5 bearers", "B1-2 and B1-3", "6 things". */
export function severally(plan: Plan, keys: Key[], s: Speech): string {
  if (keys.length === 0) return "nothing";
  if (keys.length <= 3) return keys.map((k) => nameOf(plan, k)).join(", ").replace(/, ([^,]*)$/, " and $1");
  const sorts = new Set(keys.map((k) => parts(k).sort));
  const [only] = sorts;
  return sorts.size === 1 ? `${keys.length} ${sortWord(only!, s)}s` : `${keys.length} things`;
}

/** The thing that a field of the plan is about, as the server names it. */
export function keyOfField(plan: Plan, field: string | undefined): Key | undefined {
  if (!field) return undefined;
  const m = /^(?:plan\.)?(\w+)\[(\d+)\]/.exec(field);
  const sort = (Object.keys(listOf) as Sort[]).find((one) => listOf[one] === m?.[1]);
  if (!m || !sort) return undefined;
  const i = Number(m[2]);
  if (sort === "bearer" || isPlace(sort)) {
    const one = plan[listOf[sort]]?.[i];
    return one ? keyOf(sort, one.id) : undefined;
  }
  return keyOf(sort, i);
}

const fieldWords: Record<string, string> = {
  id: "name", x: "right", y: "up", width_mm: "wide", depth_mm: "deep", e_mpa: "E", sd_mm: "±", stands_on: "stands on", outline: "corners",
};

/** The field of a thing that a field of the plan ends with, "" for the thing itself. */
export function lastField(field: string): string {
  return /\.([a-z_]+)(?:\[\d+\])?$/.exec(field)?.[1] ?? "";
}

/** What is wrong with a field of the plan, by the name of the thing it is about. */
export function wrongLine(plan: Plan, field: string | undefined, words: string): string {
  const key = keyOfField(plan, field);
  const name = lastField(field ?? "");
  const of = [key ? nameOf(plan, key) : "", fieldWords[name] ?? (key ? name : (field ?? ""))].filter(Boolean).join(", ");
  return of ? `${of}: ${words}` : words;
}

/** The distances between neighbours along a bearer. */
export function spansOf(plan: Plan, bearer: string): number[] {
  const at = (plan.bearers?.find((b) => b.id === bearer)?.supports ?? []).flatMap((id) => support(plan, id) ?? []);
  return at.slice(1).map((s, i) => distance([at[i]!.x, at[i]!.y], [s.x, s.y]));
}
