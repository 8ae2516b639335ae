// The state of one sitting at a plan, and what can be done with it. What draws it
// listens; nothing here knows the screen.
import * as edit from "./edit.ts";
import { begun, done, keep, kept, last, next, redone, shown, undone, type Shelf, type Sitting } from "./history.ts";
import { lost, merge, samePlan } from "./merge.ts";
import { renumber } from "./naming.ts";
import { keysOf, outlineOf, parts, type Key, type Plan, type Position } from "./plan.ts";
import { severally, type Speech } from "./said.ts";
import { fit, toSheet, type Size, type View } from "./view.ts";
import type { Advice, Answer, Change, Now, Sent, Wire } from "./wire.ts";

export type Tool = "choose" | "bearer" | "support" | "datum" | "spot" | "room" | "wall" | "fixed" | "door" | "hatch" | "scale";

export interface Held { between: Change[]; now: Now; late?: boolean } // late: both are recorded already

export class Editor {
  chosen: Key[] = [];
  tool: Tool = "choose";
  several = false; // a tap adds to what is chosen
  stroke: Position[] = []; // the corners put down so far by the tool in hand
  view: View = { turn: 0, scale: 50, x: 0, y: 0 };
  window: Size = { wide: 600, high: 400 };
  looking: { plan: Plan; change: Change } | undefined; // an earlier plan, looked at
  advice: Advice[] = [];
  held: Held | undefined;
  refused: { field: string; cure: string } | undefined;
  said = ""; // what was done, for who does not see it
  saved = "";
  busy = false;
  gone: string[] = []; // places with records that may leave
  recorder: string;
  feet: boolean;
  dim = 0.5; // of the underlay
  keeps = true; // the browser keeps what is not recorded
  private sitting: Sitting;
  private measured = false; // the window's size is known
  private heard = new Set<(sheetAlone: boolean) => void>();

  constructor(public now: Now, private shelf: Shelf, private wire: Wire) {
    this.recorder = now.recorder;
    this.feet = now.feet;
    const before = kept(shelf, this.name);
    this.sitting = before ?? this.fresh(now);
    if (before && before.seen < now.seq) void this.lookForOthers();
    this.view = fit(this.plan, 0, this.window);
  }

  private get name(): string {
    return `plan ${this.now.base}`;
  }

  private fresh(now: Now): Sitting {
    return { ...begun(now.plan), base: now.plan, seen: now.seq, form: now.form };
  }

  get plan(): Plan {
    return shown(this.sitting);
  }

  get base(): Plan {
    return this.sitting.base;
  }

  get speech(): Speech {
    return { words: this.now.words, feet: this.feet };
  }

  /** Whether anything is drawn that is not recorded. */
  get changed(): boolean {
    return !samePlan(this.plan, this.sitting.base);
  }

  get undoes(): string | undefined {
    return last(this.sitting);
  }

  get redoes(): string | undefined {
    return next(this.sitting);
  }

  /** Tells of every change, and whether only the sheet looks different by it. */
  listen(heard: (sheetAlone: boolean) => void): () => void {
    this.heard.add(heard);
    return () => this.heard.delete(heard);
  }

  /** Changes how things stand, and tells whoever listens. */
  set(fields: Partial<Pick<Editor, "chosen" | "tool" | "several" | "stroke" | "view" | "window" | "looking" | "advice" | "held" | "refused" | "said" | "saved" | "busy" | "gone" | "recorder" | "feet" | "dim">>): void {
    Object.assign(this, fields);
    const sheetAlone = Object.keys(fields).every((name) => name === "view" || name === "window");
    for (const one of this.heard) one(sheetAlone && Object.keys(fields).length > 0);
  }

  /** Does something to the plan. Steps that join become one. */
  do(plan: Plan, said: string, keys = this.chosen, joins = false): void {
    this.sitting = { ...this.sitting, ...done(this.sitting, plan, said, joins) };
    this.after({ chosen: keys, said: `${said}.` });
  }

  private after(fields: Parameters<Editor["set"]>[0]): void {
    this.keeps = this.changed || this.sitting.steps.length > 1 ? keep(this.shelf, this.name, this.sitting) : (this.shelf.removeItem(this.name), true);
    this.set({ refused: undefined, saved: "", looking: undefined, gone: [], ...fields });
    void this.check();
  }

  undo(): void {
    const was = this.undoes;
    if (was === undefined) return;
    this.sitting = { ...this.sitting, ...undone(this.sitting) };
    this.after({ chosen: this.still(), stroke: [], said: `Undone: ${was}.` });
  }

  redo(): void {
    const again = this.redoes;
    if (again === undefined) return;
    this.sitting = { ...this.sitting, ...redone(this.sitting) };
    this.after({ chosen: this.still(), stroke: [], said: `Done again: ${again}.` });
  }

  /** Of what is chosen, what is still there. */
  private still(): Key[] {
    const there = new Set(keysOf(this.plan));
    return this.chosen.filter((k) => there.has(k));
  }

  /** Takes a tool in hand. */
  take(tool: Tool): void {
    this.set({ tool, stroke: [], looking: undefined, ...(tool === "choose" ? {} : { chosen: [] }) });
  }

  choose(keys: Key[], add = this.several): void {
    const out = new Set(this.chosen);
    for (const k of keys) {
      if (out.has(k)) out.delete(k);
      else out.add(k);
    }
    this.set({ chosen: add ? [...out] : keys, tool: "choose", stroke: [] });
  }

  move(by: Position, said = "Moved"): void {
    this.do(edit.move(this.plan, this.chosen, by), `${said} ${severally(this.plan, this.chosen, this.speech)}`, this.chosen, said === "Nudged");
  }

  copy(by: Position): void {
    const copied = edit.copy(this.plan, this.chosen, by);
    this.do(copied.plan, `Copied ${severally(this.plan, this.chosen, this.speech)}`, copied.keys);
  }

  remove(): void {
    if (this.chosen.length === 0) return;
    this.do(edit.remove(this.plan, this.chosen), `Took off ${severally(this.plan, this.chosen, this.speech)}`, []);
  }

  change(key: Key, fields: Record<string, unknown>, said: string): void {
    this.do(edit.change(this.plan, key, fields), said);
  }

  /** Changes what several things have in common, in one step. */
  changeAll(keys: Key[], fields: Record<string, unknown>, said: string): void {
    this.do(keys.reduce((plan, k) => edit.change(plan, k, fields), this.plan), said);
  }

  renumber(bearers: string[]): void {
    const { plan, kept: held } = renumber(this.plan, bearers, this.now.records);
    this.do(plan, `Numbered ${bearers.join(", ")} anew${held.length ? `; ${held.join(", ")} kept the name that records stand under` : ""}`);
  }

  /** Back to what is recorded; undo brings the drawing back. */
  revert(): void {
    this.do(this.sitting.base, "Went back to what is recorded", []);
    this.fit();
  }

  fit(): void {
    this.set({ view: fit(this.looking?.plan ?? this.plan, this.view.turn, this.window) });
  }

  turn(): void {
    this.set({ view: fit(this.plan, (this.view.turn + 1) % 4, this.window), said: "Turned a quarter." });
  }

  /** The window is of another size: what is in its middle stays there. */
  resize(window: Size): void {
    const [dx, dy] = [window.wide - this.window.wide, window.high - this.window.high];
    if (!this.measured) this.set({ window, view: fit(this.plan, this.view.turn, window) });
    else if (dx || dy) this.set({ window, view: { ...this.view, x: this.view.x + dx / 2, y: this.view.y + dy / 2 } });
    this.measured = true;
  }

  /** Whether all of what is chosen is in the window. */
  inSight(): boolean {
    return this.chosen.flatMap((k) => outlineOf(this.plan, k)).every((p) => {
      const { x, y } = toSheet(this.view, p);
      return x > 0 && x < this.window.wide && y > 0 && y < this.window.high;
    });
  }

  private checking = 0;

  /** Asks the server what is wrong or missing, when nothing more has been done for a
   *  moment. */
  async check(wait = 400): Promise<void> {
    const turn = ++this.checking;
    await new Promise((then) => setTimeout(then, wait));
    if (turn !== this.checking) return;
    const advice = await this.wire.check(this.plan);
    if (turn === this.checking && advice) this.set({ advice });
  }

  /** Places with records that would leave the plan. */
  get leaving(): string[] {
    return lost(this.sitting.base, this.plan).filter((id) => this.now.records[id]);
  }

  async record(): Promise<void> {
    if (this.busy) return;
    const sent: Sent = { form: this.sitting.form, recorder: this.recorder, seen: this.sitting.seen, plan: this.plan, gone: this.gone };
    this.set({ busy: true, refused: undefined, saved: "" });
    const answer = await this.wire.record(sent);
    this.set({ busy: false });
    this.answered(answer);
  }

  private answered(answer: Answer): void {
    switch (answer.is) {
      case "taken":
        this.sitting = this.fresh(answer.now);
        this.now = answer.now;
        this.after({ saved: answer.warned ?? "Recorded. Phones have it when they next have signal.", chosen: [], held: answer.between ? { between: answer.between, now: answer.now, late: true } : undefined });
        return;
      case "held":
        return this.set({ held: answer });
      case "wrong":
        this.set({ refused: answer });
        if (answer.field === "gone") void this.recount();
        return;
      case "away":
        return this.set({ refused: { field: "", cure: answer.why } });
    }
  }

  /** The log has come to a number: others may have changed the drawing. */
  async hear(seq: number): Promise<void> {
    if (seq > this.sitting.seen && !this.busy && !this.held) await this.lookForOthers();
  }

  /** Something was recorded at a place that is off this plan: which, the page has to
   *  know before it can ask. */
  private async recount(): Promise<void> {
    const now = await this.wire.now();
    if (now) this.now = { ...this.now, records: now.records };
    this.set({});
  }

  /** Something may have come in: what touches nothing of the drawing only counts. What
   *  does is shown at once where nobody has drawn yet, and offered where somebody has. */
  private async lookForOthers(): Promise<void> {
    const now = await this.wire.now();
    if (!now || this.busy || now.seq <= this.sitting.seen) return;
    if (samePlan(now.plan, this.sitting.base)) {
      this.now = { ...now, recorder: this.now.recorder };
      this.sitting = { ...this.sitting, seen: now.seq };
      return this.set({});
    }
    if (this.changed) return this.set({ held: { between: now.since.filter((c) => c.seq > this.sitting.seen), now } });
    this.now = now;
    this.sitting = this.fresh(now);
    this.after({ chosen: [], said: "The plan was changed by somebody else: this is how it is now." });
  }

  /** Takes over what others did: what only they touched is as they left it. */
  takeOver(): string[] {
    const held = this.held;
    if (!held) return [];
    const { plan, both } = merge(this.sitting.base, this.plan, held.now.plan);
    this.now = held.now;
    this.sitting = { ...this.sitting, ...done(this.sitting, plan, "Took over what came in between"), base: held.now.plan, seen: held.now.seq };
    this.after({ held: undefined, chosen: [], said: both.length ? `Both of you changed ${both.join(", ")}: yours is on the plan.` : "Taken over." });
    return both;
  }

  /** Looks at an earlier plan, which changes nothing. */
  async look(change: Change): Promise<void> {
    const plan = await this.wire.earlier(change.seq);
    if (plan) this.set({ looking: { plan, change }, chosen: [], tool: "choose" });
    else this.set({ said: "That plan cannot be fetched now: try again." });
  }

  takeBack(): void {
    if (this.looking) this.do(this.looking.plan, `Took back the plan of ${this.looking.change.when}`, []);
    this.fit();
  }

  async copyFrom(job: { id: string; name: string }): Promise<void> {
    const plan = await this.wire.of(job.id);
    if (!plan) return this.set({ said: "That plan cannot be fetched now: try again." });
    this.do(plan, `Copied the plan of ${job.name}`, []);
    this.fit();
  }
}

/** Whether any of the sorts is chosen, and nothing else. */
export function only(keys: Key[], sort: string): boolean {
  return keys.length > 0 && keys.every((k) => parts(k).sort === sort);
}
