// What the recorders record, by kind: the names are those of package events, and a
// test holds them to it. Kinds that have only a form are described in forms.json.
import { say } from "../say.ts";
import type { ID } from "../../shared/event.ts";
import type { Length } from "../../shared/length.ts";
import type { Face, Gap, Left, Picture } from "../../shared/picture.ts";

type Maybe<T> = T | undefined; // left out of the body, as are "" and empty lists

export interface DatumReading {
  datum: string;
  staff: Length;
}

export interface Move {
  support: string;
  by: Length;
  gauge: "rule" | "dial" | "turns";
  jack?: string;
  rated_kn?: number;
  bore_mm?: number;
  pressure_mpa?: number;
  beside?: string;
}

export interface Piece {
  thickness: Length;
  material?: string;
}

export type Step = "taken-out" | "dug" | "seen-by-inspector" | "poured" | "carries-from" | "set" | "capped" | "fixed" | "old-packing-out";

export type GapSort = "crack" | "door" | "window" | "hearth" | "tile-joint" | "pipe" | "other";

export interface Bodies {
  "found": { what: "support" | "spot" | "bearer-end" | "none-here"; id: string; x?: number; y?: number; bearer?: Maybe<string>; after?: Maybe<string> };
  "condition": { room: string; present?: string } & Partial<Record<Part, string>>;
  "safety-check": { sentences: { sentence: string; initials: string }[]; at_hatch?: string; off?: string[] };
  "finding": { what: string; how_bad?: string; where?: string; cause?: string; supports?: string[]; owner?: Maybe<ID>; trade?: string; by?: string };
  "support-work": { support: string; step: Step; how?: string; from?: string; set_by?: ID };
  "setup": { instrument: string; method?: Maybe<"eye" | "water-level">; sd_mm_per_m?: Maybe<number>; stand?: Maybe<[number, number]>; datums: DatumReading[] };
  "setup-closed": { setup: ID; datums: DatumReading[] };
  "reading": { setup: ID; point: string; face: Face; staff?: Length; surface?: string; not_read?: string };
  "jacking": { moves: Move[] };
  "packing": { support: string; sort: "temporary" | "final"; gap?: Maybe<Length>; pieces?: Piece[]; full_width?: Maybe<true> };
  "jack-down": { support: string };
  "signed": { support: string; reading?: ID; blocking_stays?: string } | { room: string } | { floor: true };
  "gap-reading": { gap: string; what: GapSort; width: Length; watch?: Maybe<Length>; near?: Maybe<string>; supports?: Maybe<string[]> };
  "stop": { why: string; ask: string; ask_of?: Maybe<ID>; supports?: string[] };
  "go-ahead": { stop: ID; who: string; who_of?: Maybe<ID>; why?: string };
  "change-answered": { change: ID; accepted: boolean; name: string; how?: string };
  "day-end": { left?: string[]; done?: string; out: boolean; on?: Maybe<true> };
  "note": { text?: string; supports?: string[]; answers?: Maybe<ID> };
  "void": { event: ID; why: string };
}

/** The body of what was said: words are trimmed, and nothing empty stands in it. */
export function bodyFor<K extends keyof Bodies>(_kind: K, said: Bodies[K]): object {
  return Object.fromEntries(Object.entries(said).map(([name, value]) => [name, typeof value === "string" ? value.trim() : value]).filter(([, value]) => !isEmpty(value)));
}

function isEmpty(value: unknown): boolean {
  return value === undefined || value === "" || (Array.isArray(value) && value.length === 0);
}

/** What is looked at in a room, each with its usual words. */
export const parts = {
  walls: ["no cracks", "hairline cracks", "cracks", "out of plumb"],
  ceiling: ["no cracks", "hairline cracks", "cracks", "cornice apart"],
  doors: ["close well", "bind", "do not latch", "gap at the head"],
  windows: ["open well", "bind", "cracked pane"],
  tiles: ["sound", "cracked", "loose", "none here"],
  outside: ["no cracks", "cracks in brickwork", "gutter out of fall"],
} as const;

export type Part = keyof typeof parts;
export type Said = Partial<Record<Part, string[]>>;

/** A room: the words of each part in one line; free words stand with the walls. */
export function conditionOf(room: string, said: Said, words: string, present: string): Bodies["condition"] {
  const free = words.trim();
  const all: Said = free ? { ...said, walls: [...(said.walls ?? []), free] } : said;
  return { room, ...Object.fromEntries(Object.entries(all).map(([part, list]) => [part, list.join(", ")])), present };
}

/** Today's check: the sentences that were struck off, by whom. */
export function safetyCheckOf(sentences: string[], struck: Record<string, string>, at_hatch: string, off: string[]): Bodies["safety-check"] {
  return { sentences: sentences.flatMap((sentence) => (struck[sentence] ? [{ sentence, initials: struck[sentence] }] : [])), at_hatch, off };
}

/** A gap: one that is known by its name, with all that was said of it; a new one is
 *  named by what it is, and counted. */
export function gapOf(p: Picture, known: Gap | undefined, read: Omit<Bodies["gap-reading"], "gap">): Bodies["gap-reading"] {
  if (known) return { gap: known.name, what: known.what as GapSort, near: known.near, width: read.width, watch: read.watch };
  return { gap: counted(`${read.what} `, (p.gaps ?? []).map((g) => g.name)), ...read };
}

/** The first name of its sort that is not taken: T1, T2, … */
export function counted(sort: string, taken: (string | undefined)[]): string {
  let n = 1;
  while (taken.includes(sort + n)) n++;
  return sort + n;
}

/** The end of a day, with what is left as the fold has it. */
export function dayEndOf(left: Left[], done: string, out: boolean, on: boolean): Bodies["day-end"] {
  return { left: left.map((l) => `${l.place} ${say(l.what)}`.trim()), done, out, on: on || undefined };
}
