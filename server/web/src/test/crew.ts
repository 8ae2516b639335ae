// What a crew records, more or less at random.
import type { ID } from "../shared/event.ts";
import type { Draft, Taken } from "../shared/kept.ts";
import type { Random } from "./random.ts";

/** Said is a record before it has an envelope. */
export type Said = Pick<Draft, "kind" | "body">;

const supports = ["B1-1", "B1-2", "B1-3", "B2-1", "B2-2", "B2-3"];

export const plan: Said = { kind: "plan", body: {
  supports: supports.map((id, i) => ({ id, x: 1 + 2 * (i % 3), y: i < 3 ? 1 : 3 })),
  spots: [{ id: "S1", x: 2, y: 2 }],
  datums: [{ id: "D1", x: 0, y: 0, height: 0, off_building: true }, { id: "D2", x: 6, y: 0 }],
  bearers: [{ id: "B1", supports: supports.slice(0, 3) }, { id: "B2", supports: supports.slice(3) }],
} };

export const aim: Said = { kind: "aim", body: {
  aim: "level", height: 0, face: "floor", tolerance: { within_mm: 2 }, step_mm: 3, neighbour_mm: 4, agreed_by: "the owner",
} };

export const setup: Said = { kind: "setup", body: { instrument: "laser", datums: [{ datum: "D1", staff: 1000 }, { datum: "D2", staff: 1012 }] } };

/** What somebody may record next. setups and others are ids of what was recorded. */
export function next(r: Random, setups: ID[], others: ID[]): Said {
  const support = r.pick(supports);
  return r.pick<() => Said>([
    () => reading(r, support, setups), () => reading(r, support, setups), () => reading(r, support, setups), () => reading(r, "S1", setups),
    () => ({ kind: "jacking", body: { moves: [{ support, by: r.int(-2, 6), gauge: "rule" }] } }),
    () => ({ kind: "packing", body: { support, sort: "temporary", gap: r.int(5, 30) } }),
    () => ({ kind: "packing", body: { support, sort: "final", gap: 18, full_width: true, pieces: [{ thickness: 12 }, { thickness: 6 }] } }),
    () => ({ kind: "jack-down", body: { support } }),
    () => ({ kind: "note", body: { text: r.pick(["loose", "wet", "«sheet» packing — sunk", "\u2028 odd \ud83d\udd28"]), supports: [support] } }),
    () => ({ kind: "finding", body: { what: r.pick(["rotten", "leaning"]), supports: [support] } }),
    () => ({ kind: "void", body: { event: r.pick(others), why: "a slip" } }),
    () => ({ kind: "of-a-later-version", body: { anything: [1, { at: "all" }] } }),
  ])();
}

function reading(r: Random, point: string, setups: ID[]): Said {
  const body = { setup: r.pick(setups), point, face: r.pick(["floor", "bearer"]), staff: r.chance(0.1) ? r.int(-900, 1900) : 1000 + r.int(0, 60) / 2 };
  return { kind: "reading", body };
}

/** The first byte of what is no photo, which the server refuses. */
export const notOne = 0;

/** A photo or a sound, as far as its first bytes say so. */
export function shot(r: Random, taken_at: string): Taken {
  const sound = r.chance(0.2);
  const head = sound ? [0x1a, 0x45, 0xdf, 0xa3, ..."webm A_OPUS"].map((c) => (typeof c === "number" ? c : c.charCodeAt(0))) : [0xff, 0xd8, 0xff, 0xe0];
  const original = new Uint8Array(r.int(40, 4000));
  // Below the letters: by chance the name of a picture track was among them once.
  r.fill(original).forEach((b, i) => (original[i] = b % 32));
  original.set(r.chance(0.04) ? [notOne] : head);
  const about = r.chance(0.5) ? { subject: r.pick(supports), stage: r.pick(["before", "during", "after"] as const) } : {};
  return { type: sound ? "sound" : "photo", media: sound ? "audio/webm" : "image/jpeg", original: original.buffer, taken_at, ...about };
}
