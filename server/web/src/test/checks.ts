// What must hold when all is quiet.
import { isDeepStrictEqual } from "node:util";
import type { ID } from "../shared/event.ts";
import { textOf, type Exact } from "./backend.ts";
import { notOne } from "./crew.ts";
import type { Entry } from "./diary.ts";
import type { Figures } from "./figures.ts";
import type { Phone } from "./phone.ts";
import type { World } from "./world.ts";

/** Compares what the phones were promised with what is at the server. */
export async function check(w: World, figures: Figures | undefined): Promise<void> {
  const logs = new Map<ID, Exact[]>();
  for (const job of w.jobs) logs.set(job, await w.server.log(job));
  const quarantine = new Set(await w.server.quarantine());
  const photos = await w.server.photos();
  for (const [job, log] of logs) checkNumbers(w, job, log);
  checkCounters(w, [...logs.values()].flat().map((e) => textOf(e.bytes)), quarantine);
  for (const p of w.phones) {
    for (const [counter, e] of p.diary.entries) checkEvent(p, counter, e, logs.get(e.job) ?? [], quarantine);
    for (const [job, log] of logs) checkHeard(p, job, log);
    checkShots(p, photos);
  }
  for (const [job, log] of logs) if (figures) await checkState(w, figures, job, log);
}

function checkNumbers(w: World, job: ID, log: Exact[]): void {
  const gap = log.findIndex((e, i) => e.seq !== i + 1);
  if (gap >= 0) w.fault(`job ${job} has number ${log[gap]!.seq} in place ${gap + 1}`);
}

/** An event the phone was told is stored stands in the log once, with the very bytes
 *  that were sealed; one that has no place there is kept apart, here and there. */
function checkEvent(p: Phone, counter: number, e: Entry, log: Exact[], quarantine: Set<string>): void {
  const found = log.filter((l) => textOf(l.bytes) === e.sealed);
  if (p.diary.odd.has(counter)) {
    if (e.apart === undefined || e.seq !== undefined || found.length > 0) p.diary.fault(`event ${counter} is not kept apart`);
    if (!quarantine.has(e.sealed ?? "")) p.diary.fault(`event ${counter} is not in quarantine`);
    if (p.disk.own.get(counter)?.state !== "apart") p.diary.fault(`event ${counter}, which is kept apart, is gone from the phone`);
    return;
  }
  if (e.apart !== undefined) p.diary.fault(`event ${counter} was kept apart: ${e.apart}`);
  if (e.seq === undefined) p.diary.fault(`event ${counter} was never told to be stored`);
  if (found.length !== 1) p.diary.fault(`event ${counter} stands in the log ${found.length} times`);
  else if (found[0]!.seq !== e.seq) p.diary.fault(`event ${counter} is number ${found[0]!.seq}, and the phone was told ${e.seq}`);
}

/** Every counter of a device is at the server once, and nothing that no phone recorded. */
function checkCounters(w: World, log: string[], quarantine: Set<string>): void {
  const seen = new Map<ID, number[]>();
  for (const text of [...log, ...quarantine]) {
    const { device, device_seq } = JSON.parse(text) as { device: ID; device_seq: number };
    seen.set(device, [...(seen.get(device) ?? []), device_seq]);
  }
  for (const p of w.phones) {
    const device = p.disk.settings.get("device") as ID;
    const counters = (seen.get(device) ?? []).sort((a, b) => a - b);
    seen.delete(device);
    const want = Array.from({ length: p.diary.entries.size }, (_, i) => i + 1);
    if (!isDeepStrictEqual(counters, want)) p.diary.fault(`counters ${counters.join(" ")} at the server, of ${want.length} events`);
  }
  if (seen.size > 0) w.fault(`events of devices that are none of the phones: ${[...seen.keys()].join(" ")}`);
}

function checkHeard(p: Phone, job: ID, log: Exact[]): void {
  const heard = [...(p.disk.heard.get(job)?.values() ?? [])].sort((a, b) => a.seq - b.seq);
  const plain = ({ seq, recorded_at, event }: Omit<Exact, "bytes">) => ({ seq, recorded_at, event });
  if (!isDeepStrictEqual(heard.map(plain), log.map(plain))) p.diary.fault(`it heard ${heard.length} events of job ${job}, of ${log.length}, or others`);
}

/** Every photo of a stored event is at the server, durable and gone from the phone,
 *  and the others have their bytes. */
function checkShots(p: Phone, photos: Set<string>): void {
  for (const [id, shot] of p.diary.shots) {
    const left = p.disk.shots.get(id);
    const original = p.disk.bytes.get(`${id} original`);
    const apart = p.diary.odd.has(shot.counter);
    const refused = original !== undefined && new Uint8Array(original)[0] === notOne;
    if (apart || refused) {
      if (!left || !original) p.diary.fault(`photo ${id}, which the server does not take, is gone`);
      if (!apart && left?.state !== "refused") p.diary.fault(`photo ${id} is none, and ${left?.state}`);
    } else {
      if (!photos.has(shot.sha256!)) p.diary.fault(`photo ${id} is not at the server: ${left?.reason ?? left?.state ?? "let go"}`);
      if (original || p.disk.bytes.has(`${id} copy`)) p.diary.fault(`photo ${id} is safe, and its bytes are still there`);
      if (left?.state === "refused") p.diary.fault(`photo ${id} was refused: ${left.reason}`);
    }
  }
  for (const [counter, own] of p.disk.own) {
    const kept = own.state === "apart" || [...p.disk.shots.values()].some((s) => s.counter === counter && s.state === "refused");
    if (!kept) p.diary.fault(`event ${counter} is all at the server, and still here`);
  }
}

/** The phones' figures are the server's, in whatever order they heard the events. */
async function checkState(w: World, figures: Figures, job: ID, log: Exact[]): Promise<void> {
  const heard = w.random.shuffled([...w.random.pick(w.phones).disk.heard.get(job)!.values()]);
  const now = log.at(-1)!.recorded_at;
  const there = await w.server.state(job, log.length);
  const here = figures.state(job, heard, now, () => w.random.int(1, 20));
  if (!isDeepStrictEqual(here, there)) w.fault(`the state of job ${job} differs: ${difference(here, there)}`);
}

/** Where two values part first. */
function difference(a: unknown, b: unknown, at = ""): string {
  if (typeof a !== "object" || typeof b !== "object" || !a || !b) return `${at}: ${JSON.stringify(a)}, and ${JSON.stringify(b)} at the server`;
  for (const key of new Set([...Object.keys(a), ...Object.keys(b)])) {
    const [x, y] = [(a as Record<string, unknown>)[key], (b as Record<string, unknown>)[key]];
    if (!isDeepStrictEqual(x, y)) return difference(x, y, `${at}/${key}`);
  }
  return at;
}
