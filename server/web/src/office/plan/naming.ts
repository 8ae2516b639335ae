// Names that things give themselves, and those that somebody gives anew.
import { places, listOf, type Bearer, type Plan, type PlaceSort } from "./plan.ts";

/** Every name that a place of the plan has. */
export function namesOf(plan: Plan): Set<string> {
  return new Set(places.flatMap((sort) => (plan[listOf[sort]] ?? []).map((p) => p.id)));
}

/** The first of "B1", "B2"… that no bearer has, nor the name of any support begins
 *  with. */
export function nextBearer(plan: Plan, taken: string[] = []): string {
  const stems = [...namesOf(plan)].flatMap((id) => /^(B\d+)-/.exec(id)?.[1] ?? []);
  const names = new Set([...(plan.bearers ?? []).map((b) => b.id), ...stems, ...taken]);
  for (let n = 1; ; n++) if (!names.has(`B${n}`)) return `B${n}`;
}

const first: Record<PlaceSort, string> = { support: "P", spot: "S", datum: "D" };

/** A name for a place by itself: "P1" for a support on no bearer, "S1", "D1". */
export function nextPlace(plan: Plan, sort: PlaceSort): string {
  const names = namesOf(plan);
  for (let n = 1; ; n++) if (!names.has(first[sort] + n)) return first[sort] + n;
}

/** A name for one more support of a bearer: after all it has, or between two of
 *  them, whose names stay. "B1-3" and then "B1-4" get "B1-3x" between them. */
export function nextOn(plan: Plan, bearer: Bearer, after: number): string {
  const names = namesOf(plan);
  if (after >= bearer.supports.length - 1) {
    const numbers = bearer.supports.map((s) => Number(/-(\d+)[a-z]*$/.exec(s)?.[1] ?? 0));
    for (let n = Math.max(0, ...numbers) + 1; ; n++) if (!names.has(`${bearer.id}-${n}`)) return `${bearer.id}-${n}`;
  }
  const before = bearer.supports[Math.max(after, 0)] ?? `${bearer.id}-0`;
  for (const letter of "xyzuvwabcdefghijklmnopqrst") {
    if (!names.has(before + letter)) return before + letter;
  }
  return nextPlace(plan, "support");
}

/** The two ends at a butted join share a number: "B1-3a" and "B1-3b". */
export function buttedNames(plan: Plan, id: string): [string, string] {
  const names = namesOf(plan);
  const stem = /^.*-\d+$/.test(id) ? id : `${id}-`;
  return [names.has(`${stem}a`) ? id : `${stem}a`, names.has(`${stem}b`) ? `${id}'` : `${stem}b`];
}

/** What is wrong with a name, or undefined. */
export function wrongName(plan: Plan, id: string, was: string, records: Record<string, number>): string | undefined {
  const name = id.trim();
  if (name === was) return undefined;
  if (name === "") return "a name is missing";
  if (name.length > 40) return "at most 40 letters";
  if (records[was]) return `${was} has ${records[was] === 1 ? "a record" : `${records[was]} records`} under this name: keep it. If another stands there now, put it down beside and take this one off`;
  if (namesOf(plan).has(name)) return `${name} is on the plan already`;
  return undefined;
}

/** Gives a place another name, everywhere on the plan. */
export function rename(plan: Plan, was: string, id: string): Plan {
  return renameAll(plan, new Map([[was, id]]));
}

/** Gives many places other names at once, so that two may swap theirs. */
export function renameAll(plan: Plan, to: Map<string, string>): Plan {
  const name = (id: string): string => to.get(id) ?? id;
  const named = <T extends { id: string }>(list: T[] | undefined): T[] | undefined => list?.map((p) => (to.has(p.id) ? { ...p, id: name(p.id) } : p));
  const out: Plan = { ...plan };
  for (const sort of places) {
    const list = named(plan[listOf[sort]] as { id: string }[] | undefined);
    if (list) Object.assign(out, { [listOf[sort]]: list });
  }
  if (plan.bearers) {
    out.bearers = plan.bearers.map((b) => ({
      ...b, supports: b.supports.map(name),
      ...(b.joins ? { joins: b.joins.map((j) => ({ ...j, at: name(j.at), ...(j.other ? { other: name(j.other) } : {}) })) } : {}),
    }));
  }
  return out;
}

/** Numbers the supports of bearers anew from their first on. One with records keeps
 *  its name, and no other gets it. Returns those that kept theirs. */
export function renumber(plan: Plan, bearers: string[], records: Record<string, number>): { plan: Plan; kept: string[] } {
  const to = new Map<string, string>();
  const kept: string[] = [];
  const moving = (plan.bearers ?? []).filter((b) => bearers.includes(b.id));
  const ours = new Set(moving.flatMap((b) => b.supports));
  const taken = new Set([...namesOf(plan)].filter((n) => !ours.has(n) || records[n]));
  for (const b of moving) {
    let n = 0;
    b.supports.forEach((id, i) => {
      const second = isSecond(b, i);
      if (!second) n++;
      const name = `${b.id}-${n}${second ? "b" : isSecond(b, i + 1) ? "a" : ""}`;
      if (records[id]) {
        if (id !== name) kept.push(id);
      } else if (!taken.has(name)) {
        to.set(id, name);
        taken.add(name);
      }
    });
  }
  return { plan: renameAll(plan, to), kept };
}

/** Whether a support is the second end at a butted join. */
function isSecond(b: Bearer, i: number): boolean {
  const [before, id] = [b.supports[i - 1], b.supports[i]];
  return (b.joins ?? []).some((j) => j.sort === "butted" && ((j.at === before && j.other === id) || (j.other === before && j.at === id)));
}

