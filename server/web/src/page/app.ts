// The app of one phone: its store, its way to the office, its books, and what every
// screen shares. Screens read from it and are drawn anew when it changed.
import { Clock, deviceTimes } from "../shared/clock.ts";
import { newID, stamp, type ID } from "../shared/event.ts";
import { HttpWire } from "../shared/http.ts";
import type { Held, Own, Taken } from "../shared/kept.ts";
import type { Shown } from "../shared/length.ts";
import type { Flag } from "../shared/picture.ts";
import type { Store } from "../shared/store.ts";
import { Sync, type Standing } from "../shared/sync.ts";
import { Witness } from "../shared/witness.ts";
import { Album } from "./album.ts";
import { Book } from "./book.ts";
import { AwakeScreen, buzz, room, type Room } from "./device.ts";
import { Intent } from "./intent.ts";
import { askOffice, plainWords, type Job, type Office, type Person, type Words } from "./office.ts";
import { Reckoner } from "./reckoner.ts";
import { parseRoute, type Route } from "./route.ts";
import { speak } from "./say.ts";
import { Sealer, Shrinker } from "./seal.ts";
import { sends, Update } from "./update.ts";

/** Said at the foot of the screen until the next thing happens; what went well for a
 *  while only. */
export interface Notice {
  text: string;
  tone: "saved" | "doubt" | "wrong";
  undo?: Own; // what a touch takes back
}

/** What somebody chose on this phone. */
export interface Settings {
  theme: "dark" | "light";
  unit?: Shown | undefined; // of lengths, where it is not the firm's
  gauge: "rule" | "dial" | "turns";
  tab?: boolean; // record in a tab although it may be wiped
}

const usual: Settings = { theme: "dark", gauge: "rule" };

/** How many jobs are kept on the phone beside the one that is open. */
const jobsAlong = 20;

/** How long it is said that something was saved, with its way back. Later the book has
 *  it, and the foot would only take room from the keypad. */
const savedMS = 20_000;

export class App {
  route: Route = parseRoute(location.hash);
  private said: Office | undefined;
  paired = false;
  who: Person | undefined;
  settings = usual;
  held: Held = { records: 0, apart: 0, shots: 0, refused: 0 };
  notice: Notice | undefined;
  room: Room | undefined;
  broken: string | undefined; // the store was closed under us
  readonly clock = new Clock(deviceTimes, () => newID(Date.now()));
  readonly wire: HttpWire;
  readonly sync: Sync;
  readonly reckoner = new Reckoner();
  readonly update: Update;
  readonly intent: Intent;
  readonly album: Album;
  private readonly sealer: Sealer;
  private readonly witness: Witness;
  private readonly awake = new AwakeScreen();
  private readonly books = new Map<ID, Book>();
  private readonly watchers = new Set<() => void>();
  private readonly others = new BroadcastChannel("relevel kept"); // windows of this phone, of a job whose records changed
  private hushing: ReturnType<typeof setTimeout> | undefined;
  private recording = 0; // transactions under way
  private token: string | undefined;

  constructor(readonly store: Store) {
    this.intent = new Intent(store);
    this.wire = new HttpWire({
      base: "", token: async () => this.token, fetch: (...a) => fetch(...a), now: () => Date.now(),
      heardTime: (server, sent, received) => this.clock.learn(server, sent, received),
    });
    this.album = new Album(store, (sha256) => this.wire.bytes(`/photos/${sha256}?size=1600`));
    const shrinker = new Shrinker();
    this.sealer = new Sealer(store, shrinker.shrink);
    this.sync = new Sync(store, this.wire, {
      seal: () => this.sealer.run(), jobs: () => Promise.resolve(this.jobsWanted()), sleep, random: Math.random,
      alone: aloneHere, changed: (job) => void this.syncChanged(job), reached: (job, seq) => this.witness.look(job, seq),
    }, () => Date.now());
    this.witness = new Witness(store, this.wire, (job, text) => this.tell(job, text), () => Date.now());
    this.update = new Update(() => {
      this.changed();
      this.letIn();
    });
  }

  /** Reads what was kept. The first screen can be drawn after it. */
  async start(): Promise<void> {
    const { store } = this;
    const [token, office, who, settings] = await Promise.all([
      store.read<string>("token"), store.read<Office>("office"), store.read<ID>("who"), store.read<Partial<Settings>>("settings"),
    ]);
    this.token = token;
    this.paired = token !== undefined;
    this.office = office;
    this.settings = { ...usual, ...settings };
    this.who = office?.people.find((p) => p.id === who);
    this.held = await store.held();
    this.showTheme();
    await this.resume();
    addEventListener("hashchange", () => this.moved());
    this.moved();
  }

  /** What goes on in the background, after the first paint. */
  begin(): void {
    this.reckoner.start();
    void this.sync.run(new AbortController().signal);
    this.others.onmessage = (m: MessageEvent<ID | undefined>) => void this.elsewhere(m.data).catch(() => {});
    addEventListener("online", () => this.sync.kick());
    document.addEventListener("visibilitychange", () => document.visibilityState === "visible" && this.sync.kick());
    void this.askOffice();
    void room().then((r) => {
      this.room = r;
      this.changed();
    });
  }

  watch(f: () => void): () => void {
    this.watchers.add(f);
    return () => this.watchers.delete(f);
  }

  changed(): void {
    for (const f of this.watchers) f();
  }

  /** What the office said last, in whose words this phone speaks. */
  get office(): Office | undefined {
    return this.said;
  }

  set office(office: Office | undefined) {
    this.said = office;
    speak(office?.firm.sayings);
  }

  get words(): Words {
    return this.office?.firm.words ?? plainWords;
  }

  /** What lengths are shown and typed in. */
  get unit(): Shown {
    return this.settings.unit ?? this.firmUnit;
  }

  get firmUnit(): Shown {
    return this.office?.firm.units ?? "mm";
  }

  /** What a rule under a floor shows: inches, also where the staff is read in feet. */
  get ruleUnit(): Exclude<Shown, "ft"> {
    return this.unit === "ft" ? "in" : this.unit;
  }

  get standing(): Standing {
    return this.sync.standing;
  }

  job(id: ID): Job | undefined {
    return this.office?.jobs.find((j) => j.id === id);
  }

  /** The book of a job, opened by whoever asks first. */
  book(id: ID): Book {
    let book = this.books.get(id);
    if (!book) {
      book = new Book(id, this.store, this.reckoner, () => ({ zone: this.job(id)?.zone, ...this.spoken }), () => this.changed());
      this.books.set(id, book);
      void book.open().catch(() => {}); // the book says what failed
      this.sync.kick();
    }
    return book;
  }

  /** The jobs whose events are wanted: the open one first. */
  private jobsWanted(): ID[] {
    if (!this.paired) return [];
    const open = this.route.path[0] === "job" && this.route.path[1] ? [this.route.path[1]] : [];
    return [...new Set([...open, ...this.books.keys(), ...(this.office?.jobs.slice(0, jobsAlong).map((j) => j.id) ?? [])])];
  }

  /** Records what happened. It resolves when the phone's disk has it, or to nothing
   *  where it could not be kept; then whatever was typed is to stay on the screen. */
  async record(job: ID, kind: string, body: object, shots: Taken[] = []): Promise<Own | undefined> {
    if (!this.who) throw new Error("nobody was chosen who records");
    const book = this.book(job);
    this.recording++;
    let own: Own;
    try {
      own = await this.keep(job, kind, body, this.who, book.seen, shots);
    } catch (e) {
      this.say({ tone: "wrong", text: notKept(e, shots.length > 0) });
      return undefined;
    } finally {
      this.recording--;
    }
    void this.intent.saved();
    this.say({ tone: "saved", text: "Saved", ...(kind === "void" ? {} : { undo: own }) });
    buzz(1);
    void this.afterRecord(book, own);
    return own;
  }

  private keep(job: ID, kind: string, body: object, who: Person, seen_seq: number, shots: Taken[] = []): Promise<Own> {
    const now = this.clock.now();
    return this.store.record({
      id: newID(now), job, kind, v: 1, at: stamp(now, -new Date(now).getTimezoneOffset()),
      ...(this.clock.offset === undefined ? {} : { offset_ms: this.clock.offset }), clock_session: this.clock.session,
      seen_seq, by: who.id, body,
    }, shots);
  }

  /** Notes in the book of a job what the app itself found. */
  private async tell(job: ID, text: string): Promise<boolean> {
    if (!this.who) return false;
    const own = await this.keep(job, "note", { text }, this.who, await this.store.applied(job));
    await this.books.get(job)?.recorded(own).catch(() => {}); // the book says what failed
    this.doubt(`${this.job(job)?.name ?? "A job"}: the record does not agree with what was signed.`);
    this.sync.kick();
    return true;
  }

  /** Another window of this phone kept or sent something: what is in sight here counts it. */
  private async elsewhere(job?: ID): Promise<void> {
    this.held = await this.store.held();
    this.changed();
    if (job) await this.books.get(job)?.refresh();
  }

  /** Figures and sending come after; neither can undo what was saved. */
  private async afterRecord(book: Book, own: Own): Promise<void> {
    this.others.postMessage(book.job);
    void this.store.held().then((h) => {
      this.held = h;
      this.changed();
    });
    const doubts = new Set(book.picture?.supports.filter((s) => s.doubt).map((s) => s.id));
    await book.recorded(own).catch(() => {}); // the book says what failed
    const doubtful = book.picture?.supports.find((s) => s.doubt && !doubts.has(s.id));
    const flags = await book.newFlags().catch(() => []);
    if (doubtful) this.doubt(`${doubtful.id}: ${doubtful.doubt}`, own);
    else this.sayFlags(book, flags, own);
    this.sync.kick();
  }

  /** Says what is new to look at in a job: that an event of another phone came late,
   *  and a figure is not what somebody here took it for. */
  private sayFlags(book: Book, flags: Flag[], own?: Own): void {
    const flag = flags.find((f) => f.id === own?.id) ?? flags[0];
    if (!flag || this.notice?.tone === "wrong") return;
    const where = this.route.path[1] === book.job ? "" : `${this.job(book.job)?.name ?? "Another job"}: `;
    const more = flags.length > 1 ? ` And ${flags.length - 1} more: see the book.` : "";
    this.doubt(`${where}${flag.text}.${more}`, flag.id === own?.id ? own : undefined);
  }

  private doubt(text: string, undo?: Own): void {
    this.say({ tone: "doubt", text, ...(undo ? { undo } : {}) });
    buzz(2);
  }

  /** Takes back what was recorded last: both stay in the book. */
  undo(own: Own): Promise<Own | undefined> {
    return this.record(own.job, "void", { event: own.id, why: "taken back at once" });
  }

  /** What was on this screen when the camera ended the app, once. */
  cameBack<T>(): T | undefined {
    return this.intent.takeTyped<T>();
  }

  /** Goes back to where photos were taken, where the app was ended meanwhile. */
  private async resume(): Promise<void> {
    const was = await this.intent.resume();
    if (!was) return;
    location.replace(was.hash);
    this.say({ tone: "doubt", text: was.open ? "The camera was open when the app was closed: take it again." : "The app was closed before this was saved. What was taken is still here." });
  }

  say(notice: Notice | undefined): void {
    clearTimeout(this.hushing);
    this.notice = notice;
    if (notice?.tone === "saved") this.hushing = setTimeout(() => this.say(undefined), savedMS);
    this.changed();
  }

  /** Gives a code of the office for an access of this phone's own. */
  async pair(code: string, name: string): Promise<void> {
    const device_id = await this.store.device();
    const answer = await this.wire.json<{ token: string }>("POST", "/pair", { body: JSON.stringify({ code, device: name, device_id }), type: "application/json" });
    await this.store.write("token", answer.token);
    this.token = answer.token;
    this.paired = true;
    this.sync.kick();
    await this.askOffice();
    this.changed();
  }

  async askOffice(): Promise<void> {
    if (!this.paired) return;
    const before = this.spoken;
    try {
      this.office = await askOffice(this.wire, this.store);
      this.who = this.office.people.find((p) => p.id === this.who?.id) ?? this.who;
    } catch {
      // what it said before holds; standing says whether it answers
    }
    this.speaks(before);
    this.changed();
  }

  async choose(who: Person): Promise<void> {
    await this.store.write("who", who.id);
    this.who = who;
    this.changed();
  }

  async set(change: Partial<Settings>): Promise<void> {
    const before = this.spoken;
    this.settings = { ...this.settings, ...change };
    this.speaks(before);
    this.showTheme();
    this.changed();
    await this.store.write("settings", this.settings);
  }

  /** What phrases and drawings are written in. */
  private get spoken(): { units: Shown; region: string } {
    return { units: this.unit, region: this.office?.firm.region ?? "" };
  }

  /** Phrases and drawings come from the worker: they are made anew in another unit, or
   *  in the words of another region. */
  private speaks(before: { units: Shown; region: string }): void {
    if (this.unit === before.units && this.spoken.region === before.region) return;
    for (const book of this.books.values()) void book.again().catch(() => {}); // the book says what failed
  }

  /** Leaves the firm. Refused while anything is on this phone only. */
  async leave(): Promise<void> {
    const held = await this.store.held();
    if (held.records + held.shots > 0) throw new Error("Something is on this phone only: send it, or save it to a file first.");
    await this.store.clear();
    location.replace("./");
    location.reload();
  }

  /** Whether a new version may take over: nothing is open, being written or sent. */
  get idle(): boolean {
    return this.recording === 0 && !this.standing.busy && this.route.path.length < 3;
  }

  /** The browser closed the store: nothing can be kept until the app is opened anew. */
  storeBroke(): void {
    this.broken = "the browser closed it";
    this.changed();
  }

  private showTheme(): void {
    document.documentElement.dataset["theme"] = this.settings.theme;
    document.querySelector("meta[name=theme-color]")?.setAttribute("content", this.settings.theme === "dark" ? "#000000" : "#fbfaf5");
  }

  private moved(): void {
    this.route = parseRoute(location.hash);
    void this.intent.moved();
    this.awake.want(this.route.path[0] === "job" || this.route.path[0] === "sending");
    this.update.formOpen(this.route.path.length >= 3);
    if (this.notice?.tone === "wrong") this.notice = undefined;
    scrollTo(0, 0);
    this.changed();
    this.letIn();
  }

  private async syncChanged(job?: ID): Promise<void> {
    const before = this.held.shots;
    const { records } = this.held;
    this.held = await this.store.held().catch(() => this.held);
    if (job || this.held.records !== records || this.held.shots !== before) this.others.postMessage(job);
    if (this.held.shots < before) this.fetched = { at: 0 }; // their bytes are here no more
    this.changed();
    if (job) await this.books.get(job)?.refresh().catch(() => {});
    if (!this.standing.busy) {
      for (const book of this.books.values()) void book.newFlags().then((flags) => this.sayFlags(book, flags), () => {});
      void this.report();
      void this.fetchPictures();
    }
    this.letIn();
  }

  /** Lets a new version in as soon as nothing is in its way. */
  private letIn(): void {
    if (this.idle) this.update.takeOver();
  }

  private fetched: { job?: ID; at: number } = { at: 0 }; // pictures, last

  /** While there is signal: the pictures before, for those that are taken after. */
  private async fetchPictures(): Promise<void> {
    const open = this.route.path[0] === "job" ? this.route.path[1] : undefined;
    const now = performance.now(); // a clock may step back
    if (!open || this.standing.trouble || (this.fetched.job === open && now - this.fetched.at < 120_000)) return;
    this.fetched = { job: open, at: now };
    await this.album.fetch(open).catch(() => {});
  }

  private reported = 0;

  /** Tells the office what waits here, so that it can ask where a phone is. */
  private async report(): Promise<void> {
    if (!this.paired || this.standing.trouble || Date.now() - this.reported < 60_000) return;
    this.reported = Date.now();
    const { records, shots, oldest } = this.held;
    const body = {
      device: await this.store.device(), version: this.update.version ?? "not kept on the phone yet", unsent: records, photos: shots, ...(oldest ? { oldest_unsent_at: oldest } : {}),
      ...(this.room ? { persisted: this.room.persisted, storage_used: this.room.used, storage_quota: this.room.quota } : {}),
    };
    await this.wire.json("POST", "/phone/report", { body: JSON.stringify(body), type: "application/json" }).catch(() => {});
  }
}

function notKept(e: unknown, shots: boolean): string {
  const full = e instanceof DOMException && e.name === "QuotaExceededError";
  if (full && shots) return "NOT saved: this phone has no room for the photo. Record it without, or make room.";
  if (full) return "NOT saved: this phone has no room left. Delete something else on it, and touch Save again.";
  return `NOT saved: ${e instanceof Error ? e.message : String(e)}. Touch Save again.`;
}

function sleep(ms: number, signal: AbortSignal): Promise<void> {
  return new Promise((done) => {
    if (signal.aborted) return done();
    const timer = setTimeout(done, ms);
    signal.addEventListener("abort", () => {
      clearTimeout(timer);
      done();
    });
  });
}

/** One window of this device sends at a time. */
async function aloneHere(f: () => Promise<void>): Promise<"done" | "elsewhere"> {
  if (!navigator.locks) {
    await f();
    return "done";
  }
  return navigator.locks.request(sends, { ifAvailable: true }, async (lock) => {
    if (!lock) return "elsewhere" as const;
    await f();
    return "done" as const;
  });
}
