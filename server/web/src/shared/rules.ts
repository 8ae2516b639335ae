// What every store of a phone does alike: the steps from one state to the next.
import type { Envelope, ID } from "./event.ts";
import type { Copy, Draft, Heard, Held, Own, Shot, Taken } from "./kept.ts";

/** The envelope of a draft, its fields in the order in which they are sent. */
export function envelopeOf(d: Draft, device: ID, counter: number): Envelope {
  return {
    id: d.id, job: d.job, kind: d.kind, v: d.v, at: d.at,
    ...(d.offset_ms === undefined ? {} : { offset_ms: d.offset_ms }), ...(d.clock_session ? { clock_session: d.clock_session } : {}),
    device, device_seq: counter, seen_seq: d.seen_seq, by: d.by, body: d.body,
  };
}

export function shotOf(t: Taken, id: ID, own: Own, place: number): Shot {
  return {
    id, counter: own.counter, place, job: own.job, type: t.type, state: "raw", media: t.media, bytes: t.original.byteLength,
    ...(t.subject ? { subject: t.subject } : {}), ...(t.stage ? { stage: t.stage } : {}), taken_at: t.taken_at,
  };
}

/** The copy that was made of a shot. A missing one is a fault of whoever seals. */
export function copyFor(shot: Shot, copies: Copy[]): Copy {
  const made = copies.find((c) => c.id === shot.id);
  if (!made) throw new Error(`no copy of photo ${shot.id} was made`);
  return made;
}

export function ready(shot: Shot, made: Copy): Shot {
  if (made.lost) return { ...shot, state: "refused", reason: made.lost };
  return { ...shot, state: "ready", media: made.media, bytes: made.bytes, sha256: made.sha256 };
}

export function untilUnsealed(list: Own[]): Own[] {
  const stop = list.findIndex((o) => o.sealed === undefined);
  return stop < 0 ? list : list.slice(0, stop);
}

/** An event that is stored stays so: an answer to an earlier try may come late. */
export function settled(own: Own, outcome: { seq: number } | { reason: string }): void {
  if (own.state === "stored") return;
  delete own.reason;
  if ("seq" in outcome) Object.assign(own, { state: "stored", seq: outcome.seq });
  else Object.assign(own, { state: "apart", reason: outcome.reason });
}

export function waitAgain(own: Own): void {
  if (own.state !== "apart") return;
  own.state = "waiting";
  delete own.reason;
}

export function settledShot(shot: Shot, outcome: "sent" | "safe" | { reason: string }): void {
  if (shot.state === "safe") return;
  delete shot.reason;
  if (typeof outcome === "string") shot.state = outcome;
  else Object.assign(shot, { state: "refused", reason: outcome.reason });
}

/** Own events that the server has stored and lists, and whose shots it has safely,
 *  need not be kept. One that is kept apart is on this phone only, whatever the
 *  server lists under its id. */
export function isDone(own: Own, listed: Heard | undefined, shots: Shot[]): boolean {
  return own.state === "stored" && listed !== undefined && idOf(listed) === own.id && shots.every((s) => s.state === "safe");
}

export function idOf(h: Heard): ID | undefined {
  return h.event?.id ?? h.line?.id;
}

export function heldOf(own: Own[], shots: Shot[]): Held {
  const records = own.filter((o) => o.state !== "stored");
  const oldest = records.map((o) => o.envelope.at).sort((a, b) => Date.parse(a) - Date.parse(b))[0];
  return {
    records: records.length, apart: records.filter((o) => o.state === "apart").length,
    shots: shots.filter((s) => s.state !== "safe").length, refused: shots.filter((s) => s.state === "refused").length,
    ...(oldest === undefined ? {} : { oldest }),
  };
}

export const byPlace = (a: Shot, b: Shot) => a.counter - b.counter || a.place - b.place;
export const smallestFirst = (a: Shot, b: Shot) => a.bytes - b.bytes || byPlace(a, b);
