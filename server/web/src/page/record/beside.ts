// What is found beside a support: its name, counted on, and its place, by the
// spacing along the bearer.
import type { Picture, Support } from "../../shared/picture.ts";
import type { Bodies } from "./bodies.ts";
import type { Place } from "./ground.ts";

export type What = "next" | "here" | "none" | "end" | "spot";

const usualSpacingM = 1.8; // where one support tells no spacing; common practice, no source

const besideM = 0.3; // off the one it stands beside, so that both can be seen and touched

/** How far the next one along is taken to be, in metres: halfway to the one after,
 *  or as far beyond the last as those before are apart. */
export function spacing(p: Picture, at: Support): number {
  const { before, after } = neighbours(p, at);
  const m = after ? apart(at, after) / 2 : before ? apart(before, at) : usualSpacingM;
  return round(m) || usualSpacingM;
}

/** What is recorded of a find. Metres are those along the bearer, where somebody
 *  knows better than the spacing. */
export function foundBeside(p: Picture, at: Support | undefined, what: What, metres?: number): Bodies["found"] {
  if (!at) return { what: "support", id: freeName(p, "P-1"), x: 0, y: 0 };
  const along = alongOf(p, at);
  switch (what) {
    case "none":
      return { what: "none-here", id: at.id };
    case "spot":
      return { what: "spot", id: freeName(p, countedOn(p.spots?.at(-1)?.id ?? "S0")), x: at.x, y: round(at.y + besideM) };
    case "end":
      return { what: "bearer-end", id: freeName(p, `${at.id} end`), x: at.x, y: at.y, bearer: at.bearer, after: at.id };
    case "here":
      if (at.none_here) return { what: "support", id: at.id, x: at.x, y: at.y, bearer: at.bearer, after: neighbours(p, at).before?.id };
      return { what: "support", id: freeName(p, countedOn(along.at(-1) ?? at.id)), x: at.x, y: round(at.y + besideM) };
    case "next":
      return { what: "support", id: freeName(p, countedOn(along.at(-1) ?? at.id)), ...placed(p, at, metres ?? spacing(p, at)), bearer: at.bearer, after: at.id };
  }
}

/** The same find, where it was shown to be on the plan. */
export function shownAt(found: Bodies["found"], [x, y]: Place): Bodies["found"] {
  return { ...found, x, y };
}

/** So many metres on from a support, the way its bearer runs. */
function placed(p: Picture, at: Support, metres: number): { x: number; y: number } {
  const { before, after } = neighbours(p, at);
  const [from, to] = after ? [at, after] : [before ?? at, at];
  const length = apart(from, to);
  const [dx, dy] = length > 0 ? [(to.x - from.x) / length, (to.y - from.y) / length] : [1, 0];
  return { x: round(at.x + metres * dx), y: round(at.y + metres * dy) };
}

function alongOf(p: Picture, at: Support): string[] {
  return p.plan.bearers?.find((b) => b.id === at.bearer)?.supports ?? [];
}

function neighbours(p: Picture, at: Support): { before: Support | undefined; after: Support | undefined } {
  const along = alongOf(p, at);
  const i = along.indexOf(at.id);
  const of = (id: string | undefined) => p.supports.find((s) => s.id === id);
  return i < 0 ? { before: undefined, after: undefined } : { before: of(along[i - 1]), after: of(along[i + 1]) };
}

function apart(a: Support, b: Support): number {
  return Math.hypot(b.x - a.x, b.y - a.y);
}

const round = (m: number) => Math.round(m * 100) / 100;

/** B2-3 → B2-4; a name without a number gets one. */
function countedOn(id: string): string {
  const m = /^(.*?)(\d+)$/.exec(id);
  return m ? `${m[1]}${Number(m[2]) + 1}` : `${id}-2`;
}

function freeName(p: Picture, wish: string): string {
  const taken = new Set([...p.supports, ...(p.spots ?? []), ...(p.datums ?? [])].map((x) => x.id));
  let name = wish;
  while (taken.has(name)) name = countedOn(name);
  return name;
}
