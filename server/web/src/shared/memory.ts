// What a phone keeps, in memory: for tests and simulations. It passes the same
// suite as the one in IndexedDB.
import { newID, type ID } from "./event.ts";
import { fileOf, sealedText, type Copy, type Draft, type Heard, type Held, type Kept, type Own, type Shot, type Taken } from "./kept.ts";
import {
  byPlace, copyFor, envelopeOf, heldOf, idOf, isDone, ready, settled, settledShot, shotOf, smallestFirst, untilUnsealed, waitAgain,
} from "./rules.ts";

/** Disk is what outlives a restart of the app. */
export class Disk {
  settings = new Map<string, unknown>();
  own = new Map<number, Own>();
  shots = new Map<ID, Shot>();
  bytes = new Map<string, ArrayBuffer>(); // by the id of the shot and which
  heard = new Map<ID, Map<number, Heard>>();
  counter = 0;
}

/** Memory keeps on a disk of its own unless it is given one. Hooks break it: a call
 *  whose name they are given may throw before it changes anything. */
export class Memory implements Kept {
  constructor(public disk = new Disk(), private before: (call: string) => void = () => {}, private ids: () => ID = () => newID(Date.now())) {}

  // No call awaits anything: each is a transaction.

  async device(): Promise<ID> {
    return this.deviceNow();
  }

  private deviceNow(): ID {
    const known = this.disk.settings.get("device") as ID | undefined;
    const id = known ?? this.ids();
    this.disk.settings.set("device", id);
    return id;
  }

  async record(draft: Draft, shots: Taken[]): Promise<Own> {
    this.before("record");
    const counter = ++this.disk.counter;
    const envelope = copy(envelopeOf(draft, this.deviceNow(), counter));
    const own: Own = { counter, id: envelope.id, job: envelope.job, kind: envelope.kind, state: "waiting", envelope };
    if (shots.length === 0) own.sealed = sealedText(envelope, []);
    this.disk.own.set(counter, own);
    shots.forEach((s, place) => {
      const shot = shotOf(s, this.ids(), own, place);
      this.disk.shots.set(shot.id, shot);
      this.disk.bytes.set(`${shot.id} original`, copy(s.original));
    });
    return copy(own);
  }

  async unsealed(): Promise<Own[]> {
    return this.list((o) => o.sealed === undefined);
  }

  async seal(counter: number, copies: Copy[]): Promise<Own> {
    this.before("seal");
    const own = this.find(counter);
    if (own.sealed !== undefined) return copy(own);
    const pairs = this.shotsNow([counter]).map((shot) => ({ shot, made: copyFor(shot, copies) }));
    for (const { shot, made } of pairs) {
      this.disk.shots.set(shot.id, ready(shot, made));
      if (made.data) this.disk.bytes.set(`${shot.id} copy`, copy(made.data));
    }
    own.sealed = sealedText(own.envelope, pairs.filter(({ made }) => !made.lost).map(({ shot, made }) => fileOf(shot, made)));
    return copy(own);
  }

  async toSend(limit: number): Promise<Own[]> {
    return untilUnsealed(this.list((o) => o.state === "waiting")).slice(0, limit);
  }

  async settle(counter: number, outcome: { seq: number } | { reason: string }): Promise<void> {
    this.before("settle");
    const own = this.find(counter);
    settled(own, outcome);
    this.letGo(own);
  }

  async again(counter: number): Promise<void> {
    this.before("again");
    waitAgain(this.find(counter));
  }

  async unheard(job: ID): Promise<Own[]> {
    const heard = new Set([...(this.disk.heard.get(job)?.values() ?? [])].map(idOf));
    return this.list((o) => o.job === job && !heard.has(o.id));
  }

  async unsettled(): Promise<Own[]> {
    return this.list((o) => o.state !== "stored");
  }

  async shotsToSend(): Promise<Shot[]> {
    const shots = [...this.disk.shots.values()].filter((s) => (s.state === "ready" || s.state === "sent") && this.disk.own.get(s.counter)?.state === "stored");
    return shots.sort(smallestFirst).map(copy);
  }

  async shotsLeft(): Promise<Shot[]> {
    return [...this.disk.shots.values()].filter((s) => s.state !== "safe").sort(byPlace).map(copy);
  }

  async shotsOf(counters: number[]): Promise<Shot[]> {
    return this.shotsNow(counters);
  }

  private shotsNow(counters: number[]): Shot[] {
    return [...this.disk.shots.values()].filter((s) => counters.includes(s.counter)).sort(byPlace).map(copy);
  }

  async bytesOf(shot: Shot): Promise<ArrayBuffer | undefined> {
    return this.disk.bytes.get(`${shot.id} copy`) ?? this.originalOf(shot);
  }

  async originalOf(shot: Shot): Promise<ArrayBuffer | undefined> {
    return this.disk.bytes.get(`${shot.id} original`);
  }

  async settleShot(id: ID, outcome: "sent" | "safe" | { reason: string }): Promise<void> {
    this.before("settleShot");
    const shot = this.disk.shots.get(id);
    if (!shot) return;
    settledShot(shot, outcome);
    if (shot.state !== "safe") return;
    for (const which of ["original", "copy"]) this.disk.bytes.delete(`${id} ${which}`);
    this.letGo(this.find(shot.counter));
  }

  async held(): Promise<Held> {
    return heldOf([...this.disk.own.values()], [...this.disk.shots.values()]);
  }

  async hear(job: ID, list: Heard[]): Promise<void> {
    this.before("hear");
    const known = this.disk.heard.get(job) ?? new Map<number, Heard>();
    this.disk.heard.set(job, known);
    for (const h of list) known.set(h.seq, copy(h));
    const ids = new Set(list.map(idOf));
    for (const own of this.list((o) => ids.has(o.id))) this.letGo(own);
  }

  private letGo(own: Own): void {
    const shots = this.shotsNow([own.counter]);
    if (!isDone(own, this.disk.heard.get(own.job)?.get(own.seq ?? 0), shots)) return;
    this.disk.own.delete(own.counter);
    for (const s of shots) this.disk.shots.delete(s.id);
  }

  async heard(job: ID, after: number, limit: number): Promise<Heard[]> {
    const all = [...(this.disk.heard.get(job)?.values() ?? [])].filter((h) => h.seq > after);
    return all.sort((a, b) => a.seq - b.seq).slice(0, limit).map(copy);
  }

  async applied(job: ID): Promise<number> {
    const known = this.disk.heard.get(job);
    let seq = 0;
    while (known?.has(seq + 1)) seq++;
    return seq;
  }

  async read<T>(name: string): Promise<T | undefined> {
    const value = this.disk.settings.get(name);
    return value === undefined ? undefined : (copy(value) as T);
  }

  async write(name: string, value: unknown): Promise<void> {
    this.before("write");
    this.disk.settings.set(name, copy(value));
  }

  private list(wanted: (o: Own) => boolean): Own[] {
    return [...this.disk.own.values()].filter(wanted).sort((a, b) => a.counter - b.counter).map(copy);
  }

  private find(counter: number): Own {
    const own = this.disk.own.get(counter);
    if (!own) throw new Error(`there is no own event ${counter}`);
    return own;
  }
}

const copy = <T>(v: T): T => structuredClone(v);
