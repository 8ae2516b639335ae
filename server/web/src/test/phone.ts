// One phone of the simulation: a disk, a clock that is wrong, and an app that is
// killed and started again.
import { createHash } from "node:crypto";
import { Clock } from "../shared/clock.ts";
import { newID, stamp, type ID } from "../shared/event.ts";
import { HttpWire } from "../shared/http.ts";
import type { Copy, Draft, Own, Shot, Taken } from "../shared/kept.ts";
import { Disk, Memory } from "../shared/memory.ts";
import { idOf } from "../shared/rules.ts";
import { Sync } from "../shared/sync.ts";
import { Diary } from "./diary.ts";
import type { Random } from "./random.ts";
import { Scheduler } from "./scheduler.ts";
import type { World } from "./world.ts";

/** Phone is what outlives its apps. */
export class Phone {
  disk = new Disk();
  diary: Diary;
  skew: number; // of its clock
  offline = false;
  windows: App[] = [];
  sending: App | undefined; // holds the lock of the one that sends

  constructor(public world: World, public name: string) {
    this.diary = new Diary(name, world);
    this.skew = world.random.pick([0, 0, world.random.int(-5000, 5000), 3 * 3600_000, -86_400_000]);
  }

  /** The window that somebody looks at, started if there is none. */
  get app(): App {
    this.windows = this.windows.filter((w) => w.alive);
    if (this.windows.length === 0) this.windows.push(new App(this));
    return this.windows[0]!;
  }

  openBeside(): void {
    if (this.windows.length < 2) this.windows.push(new App(this));
  }

  kill(): void {
    for (const w of this.windows) w.alive = false;
  }
}

/** App is one run of the app in one window: the shipped classes, with what the page
 *  puts around them. Once it was killed nothing in it goes on. */
export class App {
  alive = true;
  sync: Sync;
  clock: Clock;
  private kept: Watched;
  private random: Random;

  constructor(private phone: Phone) {
    const { time, random, network } = phone.world;
    this.random = random;
    const started = time.now;
    const ids = () => newID(time.now, (b) => random.fill(b));
    this.clock = new Clock({ now: () => Math.floor(time.now + phone.skew), steady: () => time.now - started }, ids);
    this.kept = new Watched(phone.disk, (call) => this.mayDie(call), ids, phone.diary);
    const wire = new HttpWire({
      base: phone.world.server.url, token: async () => phone.world.token, now: () => this.clock.now(), timeout: (ms) => time.timeout(ms),
      heardTime: (...times) => this.clock.learn(...times),
      fetch: (url, init) => this.ifAlive(network.fetch(phone.offline, String(url), init ?? {})),
    });
    this.sync = new Sync(this.kept, wire, {
      seal: () => this.seal(),
      jobs: async () => phone.world.jobs,
      sleep: (ms, signal) => this.ifAlive(time.sleep(ms, signal)),
      random: () => random.next(),
      alone: (f) => this.alone(f),
      changed: () => {},
    }, () => this.clock.now());
    void this.sync.run(new AbortController().signal);
  }

  /** Writes down what is recorded, as the page does; answers nothing where the app
   *  was killed meanwhile. */
  async record(job: ID, kind: string, body: object, id: ID | undefined, shots: (at: string) => Taken[]): Promise<Own | undefined> {
    const { world } = this.phone;
    const at = stamp(this.clock.now(), 660);
    const draft: Draft = {
      id: id ?? newID(this.clock.now(), (b) => this.random.fill(b)), job, kind, v: 1, at, clock_session: this.clock.session,
      ...(this.clock.offset === undefined ? {} : { offset_ms: this.clock.offset }), seen_seq: await this.kept.applied(job), by: world.by, body,
    };
    try {
      const own = await this.kept.record(draft, shots(at));
      this.sync.kick();
      if (this.random.chance(0.5)) this.seal().catch(() => {}); // beside the one that Sync asks for
      return own;
    } catch {
      return undefined; // it says "not saved", or is gone
    }
  }

  async sendApartAgain(): Promise<void> {
    const apart = (await this.kept.unsettled()).filter((o) => o.state === "apart");
    if (apart.length > 0) await this.kept.again(this.random.pick(apart).counter).catch(() => {});
    this.sync.kick();
  }

  private async seal(): Promise<void> {
    for (const own of await this.kept.unsealed()) {
      const copies: Copy[] = [];
      for (const shot of await this.kept.shotsOf([own.counter])) {
        const original = await this.kept.originalOf(shot);
        if (original) copies.push(await this.copy(shot, original)); // else it is sealed and safe by now
      }
      if (this.phone.disk.own.has(own.counter)) await this.kept.seal(own.counter, copies);
    }
  }

  /** The copy of a photo takes a while, and comes out differently each time. */
  private async copy(shot: Shot, original: ArrayBuffer): Promise<Copy> {
    await this.ifAlive(this.phone.world.time.sleep(this.random.int(1, 4000)));
    const smaller = this.random.chance(0.7) ? original.slice(0, this.random.int(20, original.byteLength)) : undefined;
    const sent = Buffer.from(smaller ?? original);
    return { id: shot.id, media: shot.media, sha256: createHash("sha256").update(sent).digest("hex"), data: smaller, bytes: sent.length };
  }

  private async alone(f: () => Promise<void>): Promise<"done" | "elsewhere"> {
    if (this.phone.sending?.alive) return "elsewhere";
    this.phone.sending = this;
    try {
      await f();
      return "done";
    } finally {
      if (this.phone.sending === this) this.phone.sending = undefined;
    }
  }

  /** Now and then the app is killed at the very moment at which it writes. */
  private mayDie(call: string): void {
    if (this.alive && !this.phone.world.network.healed && this.random.chance(0.02)) this.phone.kill();
    if (!this.alive) throw new Error(`killed before ${call}`);
  }

  private async ifAlive<T>(waited: Promise<T>): Promise<T> {
    try {
      return await waited;
    } finally {
      if (!this.alive) await Scheduler.never;
    }
  }
}

/** Watched writes down what the store promised. */
class Watched extends Memory {
  constructor(disk: Disk, before: (call: string) => void, ids: () => ID, private diary: Diary) {
    super(disk, before, ids);
  }

  override async record(draft: Draft, shots: Taken[]): Promise<Own> {
    const own = await super.record(draft, shots);
    this.diary.recorded(own);
    return own;
  }

  override async seal(counter: number, copies: Copy[]): Promise<Own> {
    const own = await super.seal(counter, copies);
    this.diary.sealed(own, await this.shotsOf([counter]));
    return own;
  }

  override async settle(counter: number, outcome: { seq: number } | { reason: string }): Promise<void> {
    await super.settle(counter, outcome);
    this.diary.settled(counter, outcome);
    this.lookFor(counter);
  }

  /** What was let go has to be among what was heard, or the page would not show it. */
  private lookFor(counter: number): void {
    const { id, job } = this.diary.entries.get(counter)!;
    if (this.disk.own.has(counter) || [...(this.disk.heard.get(job)?.values() ?? [])].some((h) => idOf(h) === id)) return;
    this.diary.fault(`event ${counter} was let go before it was heard`);
  }

  override async settleShot(id: ID, outcome: "sent" | "safe" | { reason: string }): Promise<void> {
    const [shot] = [...this.disk.shots.values()].filter((s) => s.id === id);
    await super.settleShot(id, outcome);
    if (!shot) return;
    if (!(await this.bytesOf(shot))) this.diary.freed(id);
    this.lookFor(shot.counter);
  }
}
