// What happened, as it is written down. The envelope is that of the server's
// events; the bodies are its kinds.

export type ID = string;
export type Stage = "before" | "during" | "after";

export interface FileRef {
  type: "photo" | "sound";
  sha256: string; // of the bytes that are sent
  bytes: number;
  media_type: string;
  subject?: string; // a support, room or cut of the plan, or free words
  stage?: Stage;
  taken_at?: string;
}

export interface Envelope {
  id: ID;
  job: ID;
  kind: string;
  v: number;
  at: string; // this device's own clock, with its zone
  offset_ms?: number;
  clock_session?: string;
  device: ID;
  device_seq: number; // counts over all jobs of a device, from 1
  seen_seq: number; // the last number of the server's that this device had applied
  by: ID;
  body: object;
  files?: FileRef[];
}

/** A UUID of version 7: its time only makes ids of one device sort well, it never
 *  decides an order. */
export function newID(now: number, random: (bytes: Uint8Array) => Uint8Array = fill): ID {
  const b = random(new Uint8Array(16));
  for (let i = 5, t = now; i >= 0; i--, t = Math.floor(t / 256)) b[i] = t % 256;
  b[6] = (b[6]! & 0x0f) | 0x70;
  b[8] = (b[8]! & 0x3f) | 0x80;
  const hex = Array.from(b, (x) => x.toString(16).padStart(2, "0")).join("");
  return `${hex.slice(0, 8)}-${hex.slice(8, 12)}-${hex.slice(12, 16)}-${hex.slice(16, 20)}-${hex.slice(20)}`;
}

function fill(bytes: Uint8Array): Uint8Array {
  return crypto.getRandomValues(bytes as Uint8Array<ArrayBuffer>);
}

/** A time as RFC 3339 with milliseconds, in a zone that is so many minutes ahead
 *  of UTC. */
export function stamp(ms: number, aheadMinutes: number): string {
  const local = new Date(ms + aheadMinutes * 60_000).toISOString().slice(0, -1);
  const of = Math.abs(aheadMinutes);
  const two = (n: number) => String(Math.trunc(n)).padStart(2, "0");
  return local + (aheadMinutes < 0 ? "-" : "+") + two(of / 60) + ":" + two(of % 60);
}

/** How far a zone is ahead of UTC at a time, in minutes; of an unknown zone it is
 *  what this device's own is. */
export function ahead(ms: number, zone: string | undefined): number {
  const at = new Date(ms);
  try {
    const parts = new Intl.DateTimeFormat("en-US", { timeZone: zone, hourCycle: "h23", year: "numeric", month: "numeric", day: "numeric",
      hour: "numeric", minute: "numeric", second: "numeric" }).formatToParts(at);
    const of = (type: string) => Number(parts.find((p) => p.type === type)?.value);
    const there = Date.UTC(of("year"), of("month") - 1, of("day"), of("hour"), of("minute"), of("second"));
    return Math.round((there - Math.floor(ms / 1000) * 1000) / 60_000);
  } catch {
    return -at.getTimezoneOffset();
  }
}
