// A server in memory, as far as a phone sees it: for tests of what stands before
// the wire.
import type { ID } from "../shared/event.ts";
import type { Heard } from "../shared/kept.ts";
import { WireError, type Result, type Wire } from "../shared/wire.ts";

type Safety = "received" | "stored" | "durable";

/** Office takes in whatever is sent to it. Hooks break it: before fails a call that
 *  then did nothing, after one that was carried out. */
export class Office implements Wire {
  calls: string[] = [];
  log = new Map<ID, string[]>();
  photos = new Map<string, Safety>();
  signed = new Map<ID, string>(); // the last checkpoint of a job
  joints = new Map<string, string>(); // proofs, by their two sizes
  poison = new Set<ID>(); // kept apart
  jobs: Set<ID> | undefined; // others are not there
  largest = Infinity; // batch
  takesPhotosAs: Safety = "durable";
  before: (call: string) => void | Promise<void> = () => {};
  after: (call: string) => void | Promise<void> = () => {};

  append(job: ID, texts: string[]): Promise<Result[]> {
    return this.call(`append ${texts.map((t) => JSON.parse(t).device_seq).join(" ")}`, () => {
      if (this.jobs && !this.jobs.has(job)) throw new WireError("refused", "There is nothing of that name here.");
      if (texts.length > this.largest) throw new WireError("refused", "Too large.");
      return texts.map((t) => this.take(job, t));
    });
  }

  private take(job: ID, text: string): Result {
    const { id } = JSON.parse(text) as { id: ID };
    if (this.poison.has(id)) return { id, outcome: "quarantined", reason: "kind: no word" };
    const log = this.log.get(job) ?? [];
    this.log.set(job, log);
    const known = log.indexOf(text);
    if (known >= 0) return { id, outcome: "repeated", seq: known + 1 };
    return { id, outcome: "stored", seq: log.push(text) };
  }

  pull(job: ID, after: number, limit: number): Promise<{ events: Heard[]; seq: number }> {
    return this.call(`pull ${after}`, () => {
      if (this.jobs && !this.jobs.has(job)) throw new WireError("refused", "There is nothing of that name here.");
      const log = this.log.get(job) ?? [];
      const events = log.map((t, i) => ({ seq: i + 1, recorded_at: "2026-03-02T00:00:00Z", event: JSON.parse(t) }));
      return { events: events.slice(after, after + limit), seq: log.length };
    });
  }

  put(sha256: string): Promise<Safety> {
    return this.call(`put ${sha256}`, () => {
      this.photos.set(sha256, this.takesPhotosAs);
      return this.takesPhotosAs;
    });
  }

  kept(sha256: string): Promise<Safety | undefined> {
    return this.call(`kept ${sha256}`, () => this.photos.get(sha256));
  }

  checkpoint(job: ID): Promise<string | undefined> {
    return this.call("checkpoint", () => this.signed.get(job));
  }

  joint(_: ID, from: number, to: number): Promise<string | undefined> {
    return this.call(`joint ${from} ${to}`, () => this.joints.get(`${from} ${to}`));
  }

  private async call<T>(call: string, f: () => T): Promise<T> {
    this.calls.push(call);
    await this.before(call);
    const value = f();
    await this.after(call);
    return value;
  }
}
