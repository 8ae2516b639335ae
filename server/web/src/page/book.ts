// One job on this phone: what was heard of it and what was recorded here, given to
// the worker that reckons, and the picture it makes of them. While the worker is
// still starting the last picture is shown.
import { ahead, stamp, type ID } from "../shared/event.ts";
import type { Kept, Own } from "../shared/kept.ts";
import type { Shown } from "../shared/length.ts";
import type { Cutting, Flag, Line, Picture } from "../shared/picture.ts";
import { anticipated } from "./anticipate.ts";
import { Flags } from "./flags.ts";
import { ofJob, ReckoningError, type Reckoner } from "./reckoner.ts";

// In one piece the first few hundred events of a job would hold the worker for
// seconds.
const page = 50;

/** What a book is written by: the zone of its site, the unit of its phrases and whose
 *  words they are in. */
export interface Said {
  zone: string | undefined;
  units: Shown;
  region: string;
}

/** A drawing as the worker makes it, and what it was made of. */
export interface Drawn {
  svg: string;
}

export class Book {
  picture: Picture | undefined;
  old = true; // the picture is one that was kept, or lacks something
  failed: string | undefined;
  version = 0; // grows with every new picture
  seen = 0; // the last number of the server's up to which all was heard
  private readonly flags: Flags;
  private filled: number | undefined; // the worker's generation that has this book
  private taken = 0; // by it, up to this number
  private now = ""; // the moment of the picture, in the job's zone
  private unheard = new Set<ID>(); // own events the worker has, by their id
  private waiting: Own[] = []; // own events that it was not given yet
  private turn: Promise<unknown> = Promise.resolve();

  constructor(readonly job: ID, private kept: Kept, private reckoner: Reckoner, private said: () => Said, private changed: () => void) {
    this.flags = new Flags(job, kept);
  }

  /** Shows what was kept at once and reckons it anew. */
  async open(): Promise<void> {
    this.seen = await this.kept.applied(this.job);
    this.picture ??= await this.kept.read<Picture>(`picture ${this.job}`);
    this.waiting.unshift(...(await this.kept.unheard(this.job)).filter((o) => o.state !== "apart"));
    this.anticipate();
    this.changed();
    await this.refresh();
  }

  /** Takes in whatever the store has and the worker has not. */
  refresh(): Promise<void> {
    return this.onBook((filled) => (filled ? Promise.resolve() : this.takeAll()));
  }

  /** Runs f on a worker that has this book, which may just have been filled; once more
   *  where it let the book go meanwhile. */
  private onBook<T>(f: (filled: boolean) => Promise<T>): Promise<T> {
    return this.inTurn(async () => {
      try {
        return await f(await this.fill());
      } catch (e) {
        if (!(e instanceof ReckoningError) || !e.empty) throw e;
        return await f(await this.fill());
      }
    });
  }

  /** Gives the worker the whole book, where it has none of it. */
  private async fill(): Promise<boolean> {
    const { generation } = this.reckoner;
    if (this.filled === generation) return false;
    this.taken = 0;
    this.unheard.clear();
    await this.takeAll();
    this.filled = generation;
    return true;
  }

  private async takeAll(): Promise<void> {
    for (;;) {
      const list = await this.kept.heard(this.job, this.taken, page);
      if (list.length === 0) break;
      await this.reckoner.call("take", ofJob(this.job, { events: list }));
      this.taken = list.at(-1)!.seq;
      const ids = list.map((h) => h.event?.id ?? h.line?.id ?? "");
      for (const id of ids) this.unheard.delete(id);
      this.given(ids);
    }
    this.seen = await this.kept.applied(this.job);
    await this.recordUnheard();
    await this.look();
  }

  /** Own events that nobody lists yet, those of other phones that were handed over
   *  among them; those that the server keeps apart count no more. */
  private async recordUnheard(): Promise<void> {
    const own = await this.kept.unheard(this.job);
    const counting = own.filter((o) => o.state !== "apart");
    const handed = (await this.kept.read<string[]>(`handed ${this.job}`)) ?? [];
    const apart = own.filter((o) => o.state === "apart" && this.unheard.has(o.id));
    if (counting.length + handed.length > 0) {
      const events = [...handed.map((t) => JSON.parse(t) as object), ...counting.map(asRecorded)];
      await this.reckoner.call("record", ofJob(this.job, { events }));
    }
    if (apart.length > 0) await this.reckoner.call("drop", ofJob(this.job, { ids: apart.map((o) => o.id) }));
    this.unheard = new Set(counting.map((o) => o.id));
    this.given(own.map((o) => o.id));
  }

  /** The worker has these, or shall not have them. */
  private given(ids: ID[]): void {
    this.waiting = this.waiting.filter((o) => !ids.includes(o.id));
  }

  /** Shows what the next record hangs on before the worker has reckoned it. */
  private anticipate(): void {
    if (this.picture) this.picture = anticipated(this.picture, this.waiting);
  }

  /** An event was recorded here. */
  recorded(own: Own): Promise<void> {
    this.waiting.push(own);
    this.anticipate();
    return this.onBook(async (filled) => {
      if (filled) return; // it was in the store
      await this.reckoner.call("record", ofJob(this.job, { events: [asRecorded(own)] }));
      this.unheard.add(own.id);
      this.given([own.id]);
      await this.look();
    });
  }

  /** Its words are wanted in another unit, or of another region. */
  again(): Promise<void> {
    return this.onBook((filled) => (filled ? Promise.resolve() : this.look()));
  }

  private async look(): Promise<void> {
    const now = Date.now();
    const { zone, ...spoken } = this.said();
    this.now = stamp(now, ahead(now, zone));
    const picture = await this.reckoner.call<Picture>("state", ofJob(this.job, { now: this.now, ...spoken }));
    this.picture = anticipated(picture, this.waiting);
    this.old = false;
    this.failed = undefined;
    this.version++;
    this.changed();
    await this.kept.write(`picture ${this.job}`, picture);
  }

  /** What is to be looked at and this phone had not seen yet, once. */
  newFlags(): Promise<Flag[]> {
    return this.inTurn(async () => (this.old || this.seen === 0 ? [] : this.flags.learn(this.picture?.flags ?? [])));
  }

  /** What is to be looked at, what this phone learned last first. */
  lookAt(): Flag[] {
    return this.flags.latest(this.picture?.flags ?? []);
  }

  /** What the worker draws or reckons of this job, after all that was asked before. It
   *  is as of the moment of the picture: the worker then reckons that once. */
  ask<T>(name: string, rest: object = {}): Promise<T> {
    const { zone: _, ...spoken } = this.said();
    return this.onBook(() => this.reckoner.call<T>(name, ofJob(this.job, { now: this.now, ...spoken, ...rest })));
  }

  lines(limit: number): Promise<Line[]> {
    return this.ask("lines", { limit });
  }

  packers(practice: object): Promise<Cutting[]> {
    return this.ask("packers", { practice });
  }

  private inTurn<T>(f: () => Promise<T>): Promise<T> {
    const run = this.turn.then(f, f);
    this.turn = run.then(
      () => {},
      (e: unknown) => {
        this.failed = e instanceof Error ? e.message : String(e);
        this.old = true;
        this.changed();
      },
    );
    return run;
  }
}

/** What counts of an own event before it was sealed, or the text that was. */
function asRecorded(own: Own): object {
  return own.sealed === undefined ? own.envelope : (JSON.parse(own.sealed) as object);
}
