// One seed: a few phones, a storm, and the calm after it.
import { createHash } from "node:crypto";
import { newID, type ID } from "../shared/event.ts";
import { Backend } from "./backend.ts";
import { aim, next, plan, setup, shot, type Said } from "./crew.ts";
import type { Faults } from "./diary.ts";
import { Network, type Witness } from "./network.ts";
import { Phone } from "./phone.ts";
import { Random } from "./random.ts";
import { Scheduler } from "./scheduler.ts";

const start = Date.UTC(2026, 2, 2);
const calm = 60 * 60_000; // ms; more than any wait of a phone

export class World implements Witness, Faults {
  random: Random;
  time = new Scheduler(start);
  network: Network;
  server: Backend;
  token = "";
  by: ID;
  jobs: ID[];
  phones: Phone[];
  faults: string[] = [];
  requests = 0;
  private nowhere: ID; // a job that the firm does not have
  private setups = new Map<ID, ID[]>();
  private stormy: number;
  private durable = new Set<string>();
  private heads = new Map<ID, number>();
  private arrived = new Map<ID, number>(); // the last counter of each device
  private trace = createHash("sha256");

  constructor(seed: number, url: string) {
    const r = (this.random = new Random(seed));
    this.server = new Backend(url);
    this.network = new Network(this.time, r, r.pick([0.05, 0.2, 0.5]), this);
    this.by = this.id();
    this.nowhere = this.id();
    this.jobs = Array.from({ length: r.int(1, 2) }, () => this.id());
    this.phones = Array.from({ length: r.int(2, 5) }, (_, i) => new Phone(this, `phone ${i + 1}`));
    this.stormy = start + r.int(2, 8) * 60_000;
  }

  private id(): ID {
    return newID(this.time.now, (b) => this.random.fill(b));
  }

  /** Plays it to its end. */
  async play(): Promise<void> {
    this.token = await this.server.newFirm();
    for (const job of this.jobs) await this.server.newJob(job);
    this.begin(() => this.office());
    await this.time.run(() => this.setups.size === this.jobs.length, start + calm);
    for (const p of this.phones) this.begin(() => this.crew(p));
    this.begin(() => this.store());
    await this.time.run(() => false, this.stormy);
    this.heal();
    if (!(await this.time.run(() => this.quiet(), this.time.now + calm))) this.fault(`it never got quiet: ${this.noise().join("; ")}`);
  }

  private begin(f: () => Promise<void>): void {
    f().catch((e: unknown) => this.fault(e instanceof Error ? (e.stack ?? e.message) : String(e)));
  }

  /** The first phone draws the plans and sets the laser up. */
  private async office(): Promise<void> {
    for (const job of this.jobs) {
      for (const said of [plan, aim]) await this.insist(this.phones[0]!, job, said);
      this.setups.set(job, [await this.insist(this.phones[0]!, job, setup)]);
    }
  }

  private async insist(p: Phone, job: ID, said: Said): Promise<ID> {
    for (;;) {
      const own = await p.app.record(job, said.kind, said.body, undefined, () => []);
      if (own) return own.id;
    }
  }

  /** What happens at one phone while the storm lasts. */
  private async crew(p: Phone): Promise<void> {
    const r = this.random;
    for (;;) {
      await this.time.sleep(r.int(0, 40_000));
      if (this.network.healed) return;
      const what = r.next();
      if (what < 0.72) await this.recordSome(p);
      else if (what < 0.78) p.kill();
      else if (what < 0.84) p.offline = !p.offline;
      else if (what < 0.88) p.skew += r.pick([-86_400_000, -60_000, 1000, 5000, 3 * 3600_000]);
      else if (what < 0.92) p.openBeside();
      else if (what < 0.95) await p.app.sendApartAgain();
      else p.app.sync.kick();
    }
  }

  /** Records come alone, or a few in quick succession. */
  private async recordSome(p: Phone): Promise<void> {
    do {
      await this.recordSomething(p);
      await this.time.sleep(this.random.int(0, 1500));
    } while (this.random.chance(0.3));
  }

  private async recordSomething(p: Phone): Promise<void> {
    const r = this.random, job = r.pick(this.jobs), odd = r.chance(0.06);
    const mine = [...p.diary.entries].filter(([counter, e]) => e.job === job && !p.diary.odd.has(counter)).map(([, e]) => e.id);
    const others = this.phones.flatMap((o) => [...o.diary.entries.values()]).map((e) => e.id);
    const said = r.chance(0.05) ? setup : next(r, this.setups.get(job)!, others);
    const make = odd ? this.oddly(job, said, mine) : { job, kind: said.kind, id: undefined };
    const shots = r.chance(0.25) ? r.int(1, 3) : 0;
    const own = await p.app.record(make.job, make.kind, said.body, make.id, (at) => Array.from({ length: shots }, () => shot(r, at)));
    if (own && odd) p.diary.odd.add(own.counter);
    else if (own && said === setup) this.setups.get(job)!.push(own.id);
  }

  /** What has no place in the log: no kind, no such job, an id that was used. */
  private oddly(job: ID, said: Said, used: ID[]): { job: ID; kind: string; id: ID | undefined } {
    const sorts = [{ job, kind: "No Kind", id: undefined }, { job: this.nowhere, kind: said.kind, id: undefined }];
    return this.random.pick(used.length > 0 ? [...sorts, { job, kind: said.kind, id: this.random.pick(used) }] : sorts);
  }

  /** What happens to photos at the server, in the storm and after it. */
  private async store(): Promise<void> {
    for (;;) {
      await this.time.sleep(this.random.int(10_000, 60_000));
      const lose = !this.network.healed && this.random.chance(0.3);
      await this.time.outside(lose ? this.server.losePhotos() : this.server.verifyPhotos());
    }
  }

  private heal(): void {
    this.network.healed = true;
    for (const p of this.phones) {
      p.offline = false;
      p.app.sync.kick();
    }
  }

  private quiet(): boolean {
    return this.noise().length === 0;
  }

  /** What is still going on. */
  private noise(): string[] {
    const list = this.network.underway > 0 ? [`${this.network.underway} requests are under way`] : [];
    for (const p of this.phones) {
      const left = this.leftOf(p);
      if (left) list.push(`${p.name}: ${left} (${JSON.stringify(p.app.sync.standing)})`);
    }
    return list;
  }

  private leftOf(p: Phone): string | undefined {
    const { own, shots, heard } = p.disk;
    const apart = (counter: number) => own.get(counter)?.state === "apart";
    const waiting = [...own.values()].filter((o) => o.state === "waiting");
    if (waiting.length > 0) return `${waiting.length} events wait`;
    if ([...own.values()].some((o) => o.sealed === undefined)) return "an event is not sealed";
    if ([...shots.values()].some((s) => s.state !== "safe" && s.state !== "refused" && !apart(s.counter))) return "photos wait";
    const behind = this.jobs.find((j) => (heard.get(j)?.size ?? 0) < (this.heads.get(j) ?? 0));
    return behind === undefined ? undefined : `it has heard ${heard.get(behind)?.size ?? 0} of ${this.heads.get(behind)}`;
  }

  fault(what: string): void {
    this.faults.push(what);
  }

  isDurable(sha256: string): boolean {
    return this.durable.has(sha256);
  }

  /** What went over the wire, in short: the same for each run of a seed. */
  digest(): string {
    return this.trace.copy().digest("hex").slice(0, 12);
  }

  executed(method: string, url: string, sent: unknown, status: number, answer: string): void {
    const address = url.slice(this.server.url.length);
    this.requests++;
    this.trace.update(`${this.time.now} ${method} ${address} ${status}\n`);
    const photo = /\/photos\/([0-9a-f]{64})/.exec(address);
    if (photo && status === 200 && JSON.parse(answer).state === "durable") this.durable.add(photo[1]!);
    if (method === "POST" && (status === 200 || status === 404)) this.arrive(String(sent), status, answer);
  }

  /** Events of a device arrive by their counter; those that come again are no news. */
  private arrive(body: string, status: number, answer: string): void {
    const { events } = JSON.parse(body) as { events: { job: ID; device: ID; device_seq: number }[] };
    for (const e of events) {
      const last = this.arrived.get(e.device) ?? 0;
      if (e.device_seq > last + 1) this.fault(`event ${e.device_seq} of ${e.device} arrives after ${last}`);
      this.arrived.set(e.device, Math.max(last, e.device_seq));
    }
    if (status === 200) this.heads.set(events[0]!.job, Math.max(this.heads.get(events[0]!.job) ?? 0, JSON.parse(answer).seq));
  }
}
