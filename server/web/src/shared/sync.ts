// Sending what a phone recorded and taking in what others did.
//
// Events go strictly by their counter, in batches of one job; then photos, the
// smallest first, one at a time. An event is done with only when the server said
// that it is stored, or that it keeps it apart: whatever else happens it is sent
// again, by the same text, and the server knows a repeat. A photo's bytes are let go
// only when the server says that they are durable.
import type { ID } from "./event.ts";
import type { Kept, Own, Shot } from "./kept.ts";
import { WireError, type Result, type Wire } from "./wire.ts";

/** What Sync needs beside the store and the wire. */
export interface Around {
  /** Seals what waits for its shots. It rejects only where the store does. */
  seal(): Promise<void>;

  /** The jobs whose events are wanted, the one that is looked at first. */
  jobs(): Promise<ID[]>;

  /** Waits; ends early when the signal says so. */
  sleep(ms: number, signal: AbortSignal): Promise<void>;

  /** A number from 0 up to 1. */
  random(): number;

  /** Runs f while no other window of this device does; "elsewhere" where one is at it. */
  alone(f: () => Promise<void>): Promise<"done" | "elsewhere">;

  /** A job's log has so many records at the office; called once what waits is sent. */
  reached?(job: ID, seq: number): Promise<void>;

  /** Something the page shows may have changed: events of a job were heard, or what
   *  is held here. */
  changed(job?: ID): void;
}

/** What the page says of it. */
export interface Standing {
  busy: boolean;
  heardAt?: number; // when the server last answered, by the device's clock
  trouble?: WireError;
  broken?: string; // the store of this phone does not work
}

const batch = { events: 100, chars: 400_000 };
const page = 200;
const everyMS = 45_000; // between two rounds without a cause
const behindMS = 2_000; // where another window was at it: it may be one that has just been left
const first = 2_000, longest = 60_000; // of waiting after a trouble
const shotChecksMS = 15_000; // between two questions whether shots are safe

export class Sync {
  standing: Standing = { busy: false };
  private kicked: (() => void) | undefined;
  private again = false;
  private failures = 0;
  private elsewhere = false;
  private askedAt = -Infinity;
  private heard: { heardAt?: number } = {};

  constructor(private kept: Kept, private wire: Wire, private around: Around, private now: () => number) {}

  /** Goes round until it is told to end. */
  async run(signal: AbortSignal): Promise<void> {
    while (!signal.aborted) {
      await this.round();
      await this.pause(signal);
    }
  }

  /** Something was recorded, the phone has signal again, or somebody wants it now. */
  kick(): void {
    this.again = true;
    this.kicked?.();
  }

  private async pause(signal: AbortSignal): Promise<void> {
    // What was recorded while a round failed waits with the rest: it would only
    // fail again, and drain the battery.
    if (signal.aborted || (this.again && !this.failures)) return;
    const woken = new AbortController();
    const stop = () => woken.abort();
    this.kicked = stop;
    signal.addEventListener("abort", stop);
    await this.around.sleep(this.waitMS(), woken.signal);
    signal.removeEventListener("abort", stop);
    this.kicked = undefined;
  }

  private waitMS(): number {
    if (!this.failures) return this.elsewhere ? behindMS : everyMS;
    const backOff = Math.min(longest, first * 2 ** (this.failures - 1));
    return Math.max(backOff * (0.5 + this.around.random() / 2), this.standing.trouble?.waitMS ?? 0);
  }

  /** Goes round once. It never rejects: what went wrong is in standing, and stays
   *  in sight until a round went well. */
  async round(): Promise<void> {
    this.again = false;
    this.show({ ...this.standing, busy: true });
    const { trouble: _, broken: __, ...well } = this.standing;
    let after: Standing = well;
    try {
      this.elsewhere = (await this.around.alone(() => this.pass())) === "elsewhere";
      if (!this.elsewhere) this.failures = 0;
    } catch (e) {
      this.failures++;
      after = e instanceof WireError ? { ...well, trouble: e } : { ...well, broken: e instanceof Error ? e.message : String(e) };
    }
    this.show({ ...after, ...this.heard, busy: false });
  }

  private show(s: Standing): void {
    this.standing = s;
    this.around.changed();
  }

  private answered<T>(value: T): T {
    this.heard = { heardAt: this.now() };
    return value;
  }

  private async pass(): Promise<void> {
    await this.around.seal();
    await this.sendEvents();
    const reached = new Map<ID, number>();
    for (const job of await this.around.jobs()) {
      const seq = await this.pull(job);
      if (seq !== undefined) reached.set(job, seq);
    }
    await this.sendShots();
    for (const [job, seq] of reached) await this.around.reached?.(job, seq);
  }

  private async sendEvents(): Promise<void> {
    for (;;) {
      const run = sameJob(await this.kept.toSend(batch.events));
      if (run.length === 0) return;
      await this.sendRun(run);
      this.around.changed(run[0]!.job);
    }
  }

  /** Sends events of one job. Where the server will not take the batch as a whole,
   *  each goes by itself, so that one of them keeps back no other. */
  private async sendRun(run: Own[]): Promise<void> {
    let results: Result[];
    try {
      results = this.answered(await this.wire.append(run[0]!.job, run.map((o) => o.sealed!)));
    } catch (e) {
      if (!(e instanceof WireError) || e.trouble !== "refused") throw e;
      if (run.length > 1) {
        for (const one of run) await this.sendRun([one]);
        return;
      }
      await this.kept.settle(run[0]!.counter, { reason: e.message });
      return;
    }
    for (const [i, own] of run.entries()) await this.settle(own, results[i]);
  }

  private async settle(own: Own, r: Result | undefined): Promise<void> {
    if (!r || r.id !== own.id) throw new WireError("unreachable", "The answer does not fit what was sent.");
    if (r.outcome === "quarantined") await this.kept.settle(own.counter, { reason: r.reason ?? "" });
    else await this.kept.settle(own.counter, { seq: r.seq ?? 0 });
  }

  /** Takes in what others recorded, and answers how far the job's log goes. */
  private async pull(job: ID): Promise<number | undefined> {
    for (;;) {
      const after = await this.kept.applied(job);
      let answer;
      try {
        answer = this.answered(await this.wire.pull(job, after, page));
      } catch (e) {
        if (e instanceof WireError && e.trouble === "refused") return undefined; // not this firm's job any more
        throw e;
      }
      if (answer.events.length === 0) return answer.seq;
      await this.kept.hear(job, answer.events);
      this.around.changed(job);
      if (answer.events.length < page) return answer.seq;
    }
  }

  private async sendShots(): Promise<void> {
    const shots = await this.kept.shotsToSend();
    const askAgain = Math.abs(this.now() - this.askedAt) >= shotChecksMS; // the clock may have been stepped back
    if (askAgain) this.askedAt = this.now();
    for (const shot of shots) {
      if (shot.state === "sent" && !askAgain) continue;
      try {
        await (shot.state === "sent" ? this.askShot(shot) : this.sendShot(shot));
      } catch (e) {
        if (!(e instanceof WireError) || e.trouble !== "refused") throw e;
        await this.kept.settleShot(shot.id, { reason: e.message });
      }
      this.around.changed();
      if (this.again) return; // an event was recorded: it goes before the next photo
    }
  }

  /** One whose bytes are gone stays in sight, and keeps back no other. */
  private async sendShot(shot: Shot): Promise<void> {
    const data = await this.kept.bytesOf(shot);
    if (!data || !shot.sha256) return this.kept.settleShot(shot.id, { reason: "Its bytes are gone from this phone." });
    const state = this.answered(await this.wire.put(shot.sha256, shot.media, shot.type, data));
    await this.kept.settleShot(shot.id, state === "durable" ? "safe" : "sent");
  }

  /** A shot the server had and has lost is sent again. */
  private async askShot(shot: Shot): Promise<void> {
    const state = this.answered(await this.wire.kept(shot.sha256!));
    if (state === "durable") await this.kept.settleShot(shot.id, "safe");
    else if (state === undefined || state === "received") await this.sendShot(shot);
  }
}

/** The first events as long as they are of one job and small enough together. */
function sameJob(list: Own[]): Own[] {
  let chars = 0;
  const until = list.findIndex((o) => o.job !== list[0]!.job || ((chars += o.sealed!.length) > batch.chars && o !== list[0]));
  return until < 0 ? list : list.slice(0, until);
}
