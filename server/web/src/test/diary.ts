// What one phone was promised, written down beside it, so that it can be compared
// with what came of it.
import type { ID } from "../shared/event.ts";
import type { Own, Shot } from "../shared/kept.ts";

/** Faults takes what should not have happened. */
export interface Faults {
  fault(what: string): void;
  isDurable(sha256: string): boolean;
}

/** Entry is what is known of one own event. */
export interface Entry {
  id: ID;
  job: ID;
  sealed?: string;
  seq?: number; // the phone was told that it is stored
  apart?: string; // or why not
}

export class Diary {
  entries = new Map<number, Entry>();
  shots = new Map<ID, Shot>();
  odd = new Set<number>(); // those that the server has to keep apart

  constructor(private name: string, private faults: Faults) {}

  recorded(own: Own): void {
    if (own.counter !== this.entries.size + 1) this.fault(`counter ${own.counter} after ${this.entries.size} events`);
    if (own.envelope.device_seq !== own.counter) this.fault(`event ${own.counter} says it is ${own.envelope.device_seq}`);
    this.entries.set(own.counter, { id: own.id, job: own.job, ...(own.sealed === undefined ? {} : { sealed: own.sealed }) });
  }

  sealed(own: Own, shots: Shot[]): void {
    const e = this.find(own.counter);
    if (e.sealed !== undefined && e.sealed !== own.sealed) this.fault(`event ${own.counter} was sealed twice`);
    e.sealed = own.sealed!;
    for (const s of shots) this.shots.set(s.id, s);
  }

  settled(counter: number, outcome: { seq: number } | { reason: string }): void {
    const e = this.find(counter);
    if ("seq" in outcome) e.seq = outcome.seq;
    else e.apart = outcome.reason;
  }

  freed(id: ID): void {
    const shot = this.shots.get(id);
    if (!shot?.sha256) this.fault(`the bytes of photo ${id} were freed before it was sealed`);
    else if (!this.faults.isDurable(shot.sha256)) this.fault(`the bytes of photo ${id} were freed before they were durable`);
  }

  fault(what: string): void {
    this.faults.fault(`${this.name}: ${what}`);
  }

  private find(counter: number): Entry {
    const e = this.entries.get(counter);
    if (!e) throw new Error(`${this.name}: nobody recorded event ${counter}`);
    return e;
  }
}
