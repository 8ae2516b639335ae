// What a phone keeps, and the promises that nothing is lost by.
import type { Envelope, FileRef, ID, Stage } from "./event.ts";

/** One own event. Its counter is its key: it counts over all jobs of this device,
 *  from 1, without a gap, and is used once. */
export interface Own {
  counter: number;
  id: ID;
  job: ID;
  kind: string;
  state: "waiting" | "apart" | "stored";
  envelope: Envelope; // as it was recorded; without the digests of shots that were not made yet
  sealed?: string; // the text that is sent; once there it never changes
  reason?: string; // apart: why the server keeps it in quarantine
  seq?: number; // stored: its number
}

/** One photo or sound of an own event. */
export interface Shot {
  id: ID;
  counter: number; // of its event
  place: number; // among the files of its event
  job: ID;
  type: "photo" | "sound";
  state: "raw" | "ready" | "sent" | "safe" | "refused";
  media: string; // of the bytes that are sent, once it is ready
  bytes: number;
  sha256?: string;
  subject?: string;
  stage?: Stage;
  taken_at: string;
  reason?: string; // refused: why the server cannot keep it
}

/** A shot as it comes from the camera, not yet of any event. */
export interface Taken {
  type: "photo" | "sound";
  media: string;
  original: ArrayBuffer;
  subject?: string;
  stage?: Stage;
  taken_at: string;
}

/** The bytes of a shot that are sent. */
export interface Copy {
  id: ID; // of the shot
  media: string;
  sha256: string;
  data: ArrayBuffer | undefined; // undefined: the original itself
  bytes: number;
  lost?: string; // why it can never be sent: the event then names no such file
}

/** What is recorded: the store adds id, counter and device. */
export type Draft = Omit<Envelope, "device" | "device_seq" | "files">;

/** An event as the server lists it. */
export interface Heard {
  seq: number;
  recorded_at: string;
  event?: Envelope;
  line?: { id: ID; kind: string };
  erased?: boolean;
}

/** How much is on this phone only. */
export interface Held {
  records: number; // not acknowledged, those apart among them
  apart: number;
  shots: number; // not yet safe at the server, those refused among them
  refused: number;
  oldest?: string; // when the oldest of the records was made
}

/** Kept is everything a phone keeps. Each call is one transaction: it happens whole
 *  or not at all, and what it promised is on the disk when it resolves. It rejects,
 *  and has changed nothing, where the device has no room or the store is broken.
 *  Several windows may use one store. IndexedDB and memory pass the same suite. */
export interface Kept {
  /** The id of this device: made by the first call, kept for good. */
  device(): Promise<ID>;

  /** Writes an event under the next counter with the originals of its shots. An
   *  event without shots is sealed in the same transaction. */
  record(draft: Draft, shots: Taken[]): Promise<Own>;

  /** The events that are not sealed, by counter. */
  unsealed(): Promise<Own[]>;

  /** Seals an event: keeps the copies of its shots and fixes the text that is sent,
   *  with their digests. A shot that is lost is refused and stays in sight. An event that is sealed stays as it is. */
  seal(counter: number, copies: Copy[]): Promise<Own>;

  /** The first events that wait, by counter, up to the first that is not sealed:
   *  what comes after that has to wait for it. */
  toSend(limit: number): Promise<Own[]>;

  /** The server has stored an event, or keeps it apart. */
  settle(counter: number, outcome: { seq: number } | { reason: string }): Promise<void>;

  /** Lets an event that was kept apart be sent once more. */
  again(counter: number): Promise<void>;

  /** Own events of a job, by counter, that the server's list does not have yet. */
  unheard(job: ID): Promise<Own[]>;

  /** All own events that are not stored. */
  unsettled(): Promise<Own[]>;

  /** The shots whose event is stored and that are not safe, the smallest first. */
  shotsToSend(): Promise<Shot[]>;

  /** All shots that are not safe at the server, by event. */
  shotsLeft(): Promise<Shot[]>;

  /** The shots of some events. */
  shotsOf(counters: number[]): Promise<Shot[]>;

  /** The bytes of a shot that are sent; undefined once they were freed. */
  bytesOf(shot: Shot): Promise<ArrayBuffer | undefined>;

  /** The bytes of a shot as it was taken; undefined once they were freed. */
  originalOf(shot: Shot): Promise<ArrayBuffer | undefined>;

  /** The server has a shot: "sent" it may still lose, "safe" frees the bytes here. */
  settleShot(id: ID, outcome: "sent" | "safe" | { reason: string }): Promise<void>;

  held(): Promise<Held>;

  /** Keeps what the server lists of a job. Events come again and in any order. An
   *  own event is let go once it is stored, listed, and safe with all its shots, by
   *  whichever call says the last of it; a call that names it afterwards rejects. */
  hear(job: ID, list: Heard[]): Promise<void>;

  /** What was heard of a job, by number, from the one after. */
  heard(job: ID, after: number, limit: number): Promise<Heard[]>;

  /** The last number up to which every event of a job was heard. */
  applied(job: ID): Promise<number>;

  /** Everything else: settings, what the office said, what the camera was opened for. */
  read<T>(name: string): Promise<T | undefined>;
  write(name: string, value: unknown): Promise<void>;
}

/** The text of an event that is sent. Keys stand in the order of the envelope. */
export function sealedText(e: Envelope, files: FileRef[]): string {
  return JSON.stringify(files.length > 0 ? { ...e, files } : e);
}

/** What an event says of a shot. */
export function fileOf(shot: Shot, copy: Copy): FileRef {
  return {
    type: shot.type, sha256: copy.sha256, bytes: copy.bytes, media_type: copy.media,
    ...(shot.subject ? { subject: shot.subject } : {}), ...(shot.stage ? { stage: shot.stage } : {}), taken_at: shot.taken_at,
  };
}
