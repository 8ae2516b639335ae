// Pictures taken before, for the ones that are to be taken after. Those of this phone
// are in its store; of others small copies are fetched while there is signal.
import type { Envelope, ID } from "../shared/event.ts";
import type { Kept, Own, Shot } from "../shared/kept.ts";

const most = 30; // copies that are kept, over all jobs
const page = 500; // events at a time

/** A picture "before". */
interface Before {
  subject: string;
  event: ID;
  sha256?: string; // by which the office has it; a shot that was just taken has none
  shot?: Shot; // of this phone
}

export class Album {
  constructor(private kept: Kept, private office: (sha256: string) => Promise<Blob>) {}

  /** The latest picture before of a subject, if it is on this phone or can be had. */
  async before(job: ID, subject: string): Promise<Blob | undefined> {
    const latest = (await this.list(job)).filter((b) => b.subject === subject).at(-1);
    if (!latest) return undefined;
    const here = await this.here(latest);
    return here ?? (latest.sha256 ? this.fetched(latest.sha256).catch(() => undefined) : undefined);
  }

  /** Whether a job has any picture before, of whatever. */
  async any(job: ID): Promise<boolean> {
    return (await this.list(job)).length > 0;
  }

  /** Fetches what may be wanted where there is no signal. */
  async fetch(job: ID): Promise<void> {
    const latest = new Map((await this.list(job)).map((b) => [b.subject, b]));
    for (const b of [...latest.values()].slice(-most)) if (b.sha256 && !(await this.here(b))) await this.fetched(b.sha256);
  }

  /** All pictures before of a job, the latest last, without those of events that do
   *  not count. */
  private async list(job: ID): Promise<Before[]> {
    const { found, voided } = await this.heard(job);
    const own = await this.kept.unheard(job);
    for (const id of own.map((o) => voidedBy(o.envelope))) if (id) voided.add(id);
    return [...found, ...(await this.own(own))].filter((b) => !voided.has(b.event));
  }

  private async heard(job: ID): Promise<{ found: Before[]; voided: Set<ID> }> {
    const found: Before[] = [];
    const voided = new Set<ID>();
    for (let after = 0; ; ) {
      const list = await this.kept.heard(job, after, page);
      if (list.length === 0) return { found, voided };
      after = list.at(-1)!.seq;
      for (const { event } of list) {
        const undone = event && voidedBy(event);
        if (undone) voided.add(undone);
        for (const f of event?.files ?? []) if (isBefore(f)) found.push({ subject: f.subject, event: event!.id, sha256: f.sha256 });
      }
    }
  }

  private async own(list: Own[]): Promise<Before[]> {
    const shots = await this.kept.shotsOf(list.map((o) => o.counter));
    return list.flatMap((o) => shots.filter((s) => s.counter === o.counter).filter(isBefore).map((shot) => ({ subject: shot.subject, event: o.id, shot, ...(shot.sha256 ? { sha256: shot.sha256 } : {}) })));
  }

  /** What this phone has of a picture: a shot that was not sent yet, or a copy. */
  private async here(b: Before): Promise<Blob | undefined> {
    const shot = b.shot ?? (await this.kept.shotsLeft()).find((s) => s.sha256 === b.sha256);
    const bytes = shot && (await this.kept.bytesOf(shot));
    if (bytes) return new Blob([bytes], { type: shot.media });
    const copy = b.sha256 && (await this.kept.read<ArrayBuffer>(keyOf(b.sha256)));
    return copy ? new Blob([copy], { type: "image/jpeg" }) : undefined;
  }

  private async fetched(sha256: string): Promise<Blob> {
    const picture = await this.office(sha256);
    const copies = ((await this.kept.read<string[]>("album")) ?? []).filter((c) => c !== sha256);
    // The list first: a copy that is not on it would stay for ever.
    await this.kept.write("album", [...copies, sha256].slice(-most));
    for (const old of copies.slice(0, -most + 1)) await this.kept.write(keyOf(old), undefined);
    await this.kept.write(keyOf(sha256), await picture.arrayBuffer());
    return picture;
  }
}

function isBefore<T extends { type: string; stage?: string; subject?: string }>(f: T): f is T & { subject: string } {
  return f.type === "photo" && f.stage === "before" && !!f.subject;
}

function voidedBy(e: Envelope): ID | undefined {
  return e.kind === "void" ? (e.body as { event?: ID }).event : undefined;
}

function keyOf(sha256: string): string {
  return `before ${sha256}`;
}
