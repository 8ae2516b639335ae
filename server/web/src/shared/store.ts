// What a phone keeps, in IndexedDB. Whatever matters is written with strict
// durability: the transaction completes when the disk has it.
import { openDB, type DBSchema, type IDBPDatabase, type IDBPTransaction, type StoreNames } from "idb";
import { newID, type ID } from "./event.ts";
import { fileOf, sealedText, type Copy, type Draft, type Heard, type Held, type Kept, type Own, type Shot, type Taken } from "./kept.ts";
import {
  byPlace, copyFor, envelopeOf, heldOf, idOf, isDone, ready, settled, settledShot, shotOf, smallestFirst, untilUnsealed, waitAgain,
} from "./rules.ts";

interface Schema extends DBSchema {
  setting: { key: string; value: unknown };
  own: { key: number; value: Own; indexes: { job: ID; id: ID } };
  shot: { key: ID; value: Shot; indexes: { counter: number } };
  bytes: { key: string; value: ArrayBuffer }; // WebKit fails on Blobs here
  heard: { key: [ID, number]; value: Heard & { job: ID } };
}

type Name = StoreNames<Schema>;
type Writing = IDBPTransaction<Schema, Name[], "readwrite">;

/** Opens the store of this origin. blocking tells that a window with a newer app
 *  waits for this one to close the store; broken that the browser closed it. */
export async function openStore(name = "relevel", on: { blocking?: () => void; broken?: () => void } = {}): Promise<Store> {
  const db = await openDB<Schema>(name, 1, {
    upgrade(fresh) {
      fresh.createObjectStore("setting");
      const own = fresh.createObjectStore("own", { keyPath: "counter" });
      own.createIndex("job", "job");
      own.createIndex("id", "id");
      fresh.createObjectStore("shot", { keyPath: "id" }).createIndex("counter", "counter");
      fresh.createObjectStore("bytes");
      fresh.createObjectStore("heard", { keyPath: ["job", "seq"] });
    },
    blocking() {
      on.blocking?.();
    },
    terminated() {
      on.broken?.();
    },
  });
  return new Store(db);
}

const everything: Name[] = ["setting", "own", "shot", "bytes", "heard"];

export class Store implements Kept {
  constructor(private db: IDBPDatabase<Schema>, private ids: () => ID = () => newID(Date.now())) {}

  close(): void {
    this.db.close();
  }

  device(): Promise<ID> {
    return this.change(["setting"], (tx) => this.deviceIn(tx));
  }

  private async deviceIn(tx: Writing): Promise<ID> {
    const settings = tx.objectStore("setting");
    const known = (await settings.get("device")) as ID | undefined;
    if (known) return known;
    const id = this.ids();
    await settings.put(id, "device");
    return id;
  }

  record(draft: Draft, shots: Taken[]): Promise<Own> {
    return this.change(["setting", "own", "shot", "bytes"], async (tx) => {
      const device = await this.deviceIn(tx);
      const settings = tx.objectStore("setting");
      const counter = (((await settings.get("counter")) as number | undefined) ?? 0) + 1;
      const envelope = envelopeOf(draft, device, counter);
      const own: Own = { counter, id: envelope.id, job: envelope.job, kind: envelope.kind, state: "waiting", envelope };
      if (shots.length === 0) own.sealed = sealedText(envelope, []);
      await settings.put(counter, "counter");
      // add, not put: a counter that was used would fail here and undo all of it.
      await tx.objectStore("own").add(own);
      for (const [place, s] of shots.entries()) {
        const shot = shotOf(s, this.ids(), own, place);
        await tx.objectStore("shot").add(shot);
        await tx.objectStore("bytes").add(s.original, `${shot.id} original`);
      }
      return own;
    });
  }

  unsealed(): Promise<Own[]> {
    return this.owns((o) => o.sealed === undefined);
  }

  seal(counter: number, copies: Copy[]): Promise<Own> {
    return this.change(["own", "shot", "bytes"], async (tx) => {
      const own = await find(tx, counter);
      if (own.sealed !== undefined) return own;
      const shots = (await tx.objectStore("shot").index("counter").getAll(counter)).sort(byPlace);
      const files = [];
      for (const shot of shots) {
        const made = copyFor(shot, copies);
        await tx.objectStore("shot").put(ready(shot, made));
        if (made.data) await tx.objectStore("bytes").put(made.data, `${shot.id} copy`);
        if (!made.lost) files.push(fileOf(shot, made));
      }
      own.sealed = sealedText(own.envelope, files);
      await tx.objectStore("own").put(own);
      return own;
    });
  }

  async toSend(limit: number): Promise<Own[]> {
    return untilUnsealed(await this.owns((o) => o.state === "waiting")).slice(0, limit);
  }

  settle(counter: number, outcome: { seq: number } | { reason: string }): Promise<void> {
    return this.change(["own", "shot", "heard"], async (tx) => {
      const own = await find(tx, counter);
      settled(own, outcome);
      await tx.objectStore("own").put(own);
      await letGo(tx, own);
    });
  }

  again(counter: number): Promise<void> {
    return this.change(["own"], async (tx) => {
      const own = await find(tx, counter);
      waitAgain(own);
      await tx.objectStore("own").put(own);
    });
  }

  async unheard(job: ID): Promise<Own[]> {
    const tx = this.db.transaction(["own", "heard"]);
    const [own, heard] = await Promise.all([tx.objectStore("own").index("job").getAll(job), tx.objectStore("heard").getAll(ofJob(job))]);
    const ids = new Set(heard.map(idOf));
    return own.filter((o) => !ids.has(o.id));
  }

  unsettled(): Promise<Own[]> {
    return this.owns((o) => o.state !== "stored");
  }

  async shotsToSend(): Promise<Shot[]> {
    const tx = this.db.transaction(["own", "shot"]);
    const [own, shots] = await Promise.all([tx.objectStore("own").getAll(), tx.objectStore("shot").getAll()]);
    const stored = new Set(own.filter((o) => o.state === "stored").map((o) => o.counter));
    return shots.filter((s) => (s.state === "ready" || s.state === "sent") && stored.has(s.counter)).sort(smallestFirst);
  }

  async shotsLeft(): Promise<Shot[]> {
    return (await this.db.getAll("shot")).filter((s) => s.state !== "safe").sort(byPlace);
  }

  async shotsOf(counters: number[]): Promise<Shot[]> {
    const tx = this.db.transaction("shot");
    const lists = await Promise.all(counters.map((c) => tx.store.index("counter").getAll(c)));
    return lists.flat().sort(byPlace);
  }

  async bytesOf(shot: Shot): Promise<ArrayBuffer | undefined> {
    return (await this.db.get("bytes", `${shot.id} copy`)) ?? this.originalOf(shot);
  }

  originalOf(shot: Shot): Promise<ArrayBuffer | undefined> {
    return this.db.get("bytes", `${shot.id} original`);
  }

  settleShot(id: ID, outcome: "sent" | "safe" | { reason: string }): Promise<void> {
    return this.change(["own", "shot", "bytes", "heard"], async (tx) => {
      const shot = await tx.objectStore("shot").get(id);
      if (!shot) return;
      settledShot(shot, outcome);
      await tx.objectStore("shot").put(shot);
      if (shot.state !== "safe") return;
      for (const which of ["original", "copy"]) await tx.objectStore("bytes").delete(`${id} ${which}`);
      await letGo(tx, await find(tx, shot.counter));
    });
  }

  async held(): Promise<Held> {
    const tx = this.db.transaction(["own", "shot"]);
    return heldOf(...(await Promise.all([tx.objectStore("own").getAll(), tx.objectStore("shot").getAll()])));
  }

  hear(job: ID, list: Heard[]): Promise<void> {
    return this.change(["own", "shot", "heard"], async (tx) => {
      await Promise.all(list.map((h) => tx.objectStore("heard").put({ ...h, job })));
      for (const id of list.map(idOf)) {
        // One id may be that of several, of which the server took one.
        for (const own of id ? await tx.objectStore("own").index("id").getAll(id) : []) await letGo(tx, own);
      }
    });
  }

  async heard(job: ID, after: number, limit: number): Promise<Heard[]> {
    const list = await this.db.getAll("heard", IDBKeyRange.bound([job, after], [job, Infinity], true), limit);
    return list.map(({ job: _, ...h }) => h);
  }

  /** Numbers have no gaps and are heard in order, so that the count of them would
   *  do; but a page of them may have been heard by another window. */
  async applied(job: ID): Promise<number> {
    const keys = await this.db.getAllKeys("heard", ofJob(job));
    let seq = 0;
    while (keys[seq]?.[1] === seq + 1) seq++;
    return seq;
  }

  async read<T>(name: string): Promise<T | undefined> {
    return (await this.db.get("setting", name)) as T | undefined;
  }

  write(name: string, value: unknown): Promise<void> {
    return this.change(["setting"], async (tx) => {
      await tx.objectStore("setting").put(value, name);
    });
  }

  /** Lets go of all there is: only where nothing is unsent, or somebody insists. */
  async clear(): Promise<void> {
    await this.change(everything, async (tx) => {
      await Promise.all(everything.map((n) => tx.objectStore(n).clear()));
    });
  }

  /** One transaction, durable when it resolves. What fails within undoes all of it. */
  private async change<T>(names: Name[], f: (tx: Writing) => Promise<T>): Promise<T> {
    const tx = this.db.transaction(names, "readwrite", { durability: "strict" });
    try {
      const value = await f(tx);
      await tx.done;
      return value;
    } catch (e) {
      tx.done.catch(() => {}); // its failure is that of f
      const cause = tx.error; // of one the browser gave up, such as for want of room: e only says that it did
      try {
        tx.abort();
      } catch {
        // it was aborted already
      }
      throw cause ?? e;
    }
  }

  private async owns(wanted: (o: Own) => boolean): Promise<Own[]> {
    return (await this.db.getAll("own")).filter(wanted);
  }
}

async function find(tx: Writing, counter: number): Promise<Own> {
  const own = await tx.objectStore("own").get(counter);
  if (!own) throw new Error(`there is no own event ${counter}`);
  return own;
}

async function letGo(tx: Writing, own: Own): Promise<void> {
  const listed = await tx.objectStore("heard").get([own.job, own.seq ?? 0]);
  const shots = await tx.objectStore("shot").index("counter").getAll(own.counter);
  if (!isDone(own, listed, shots)) return;
  await tx.objectStore("own").delete(own.counter);
  for (const s of shots) await tx.objectStore("shot").delete(s.id);
}

function ofJob(job: ID): IDBKeyRange {
  return IDBKeyRange.bound([job, -Infinity], [job, Infinity]);
}
