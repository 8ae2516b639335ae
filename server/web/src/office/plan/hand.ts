// What fingers, a mouse and a pen do on the sheet: choose, drag, put down, take
// several by a box, move the sheet, pinch. It knows no DOM but the events.
import * as edit from "./edit.ts";
import type { Editor } from "./editor.ts";
import { distance } from "./geometry.ts";
import { parseLength } from "./measure.ts";
import { isPlace, keyOf, keysOf, outlineOf, parts, type Key, type Plan, type Position } from "./plan.ts";
import { snap, strokeTo, type Snapped } from "./snap.ts";
import { corner, corners, finish, outlines, rectangleOf, type RowsTyped } from "./strokes.ts";
import { gridOf, panned, pinched, toPlan, toSheet, zoomed, type Point } from "./view.ts";

/** What is shown while a hand is on the sheet, and not yet done. */
export interface Over {
  plan?: Plan; // as it would be
  snapped?: Snapped; // where the point comes to lie
  box?: [Point, Point];
  line?: [Position, Position]; // what is being stretched, with its length
  typed: string;
}

/** What a pointer does, as far as the sheet cares. */
export interface Touch { id: number; at: Point; finger: boolean; add: boolean; free: boolean; pan: boolean; key: Key | undefined; corner: number | undefined }

type Doing =
  | { is: "nothing" }
  | { is: "pinching" }
  | { is: "moving"; keys: Key[]; grabbed: Position }
  | { is: "cornering"; key: Key; corner: number }
  | { is: "boxing" }
  | { is: "panning" }
  | { is: "stroking" };

const slack = 5; // px that a finger may shake without meaning to drag
const reach = 9; // px within which a point snaps
const fingertip = 24; // px around a finger in which something is meant

export class Hand {
  over: Over = { typed: "" };
  private down = new Map<number, Point>();
  private first: Touch | undefined;
  private dragged = false;
  private doing: Doing = { is: "nothing" };
  private free = false;

  private heard = (): void => {};

  constructor(private e: Editor, private rows: () => RowsTyped) {}

  /** Whoever draws what the hand is about to do. */
  listen(heard: () => void): void {
    this.heard = heard;
  }

  private show(over: Partial<Over>): void {
    this.over = { ...this.over, ...over };
    this.heard();
  }

  private clear(): void {
    this.doing = { is: "nothing" };
    this.over = { typed: "" };
    this.heard();
  }

  press(t: Touch): void {
    this.down.set(t.id, t.at);
    if (this.down.size === 2) {
      this.clear();
      this.doing = { is: "pinching" };
      return;
    }
    if (this.down.size > 2) return;
    this.first = { ...t, key: this.meant(t) };
    this.dragged = false;
    this.doing = this.begun(this.first);
  }

  private begun(t: Touch): Doing {
    if (t.pan || this.e.looking) return { is: "panning" };
    if (this.e.tool !== "choose") return { is: "stroking" };
    if (t.corner !== undefined && t.key) return { is: "cornering", key: t.key, corner: t.corner };
    if (t.key && this.moves(t.key, t.finger)) {
      const keys = this.e.chosen.includes(t.key) ? this.e.chosen : [t.key];
      return { is: "moving", keys, grabbed: this.grab(t.key, t.at) };
    }
    return { is: t.finger ? "panning" : "boxing" };
  }

  /** Whether a thing goes with the hand at once. What lies under everything, and all
   *  under a finger, is chosen first: nobody moves a wall who meant to move the sheet. */
  private moves(key: Key, finger: boolean): boolean {
    const { sort } = parts(key);
    return this.e.chosen.includes(key) || (!finger && (isPlace(sort) || sort === "bearer"));
  }

  /** The corner of a thing that is nearest to where it was taken: that one snaps. */
  private grab(key: Key, at: Point): Position {
    const p = toPlan(this.e.view, at);
    return outlineOf(this.e.plan, key).reduce((best, q) => (distance(q, p) < distance(best, p) ? q : best));
  }

  /** Where posts stand so close that they cover each other, the nearest is meant; a
   *  finger that touched nothing quite means what is near. */
  private meant(t: Touch): Key | undefined {
    const onPlace = t.key !== undefined && isPlace(parts(t.key).sort);
    return (onPlace || (t.finger && !t.key) ? this.nearest(t.at) : undefined) ?? t.key;
  }

  /** The place that is nearest to a point of the sheet. */
  private nearest(at: Point): Key | undefined {
    let best: Key | undefined;
    let least = fingertip;
    for (const key of keysOf(this.e.plan)) {
      if (!isPlace(parts(key).sort)) continue;
      for (const p of outlineOf(this.e.plan, key)) {
        const s = toSheet(this.e.view, p);
        const off = Math.hypot(s.x - at.x, s.y + (parts(key).sort === "support" ? 14 : 0) - at.y);
        if (off < least) [best, least] = [key, off];
      }
    }
    return best;
  }

  moveTo(id: number, at: Point, free: boolean): void {
    this.free = free;
    const was = this.down.get(id);
    if (!was) return this.hover(at);
    const before = new Map(this.down);
    this.down.set(id, at);
    if (this.doing.is === "pinching") return this.pinch(before);
    if (!this.first || this.first.id !== id) return;
    if (!this.dragged && Math.hypot(at.x - this.first.at.x, at.y - this.first.at.y) < slack) return;
    this.dragged = true;
    this.drag(was, at);
  }

  private pinch(before: Map<number, Point>): void {
    const [a, b] = [...before.values()], [c, d] = [...this.down.values()];
    if (a && b && c && d) this.e.set({ view: pinched(this.e.view, [a, b], [c, d]) });
  }

  private drag(was: Point, at: Point): void {
    const e = this.e, begun = this.first!;
    switch (this.doing.is) {
      case "panning":
        return e.set({ view: panned(e.view, { x: at.x - was.x, y: at.y - was.y }) });
      case "boxing":
        return this.show({ box: [begun.at, at] });
      case "moving":
        return this.drawMove(at);
      case "cornering":
        return this.drawCorner(at, this.doing.key, this.doing.corner);
      case "stroking": {
        const from = e.stroke[0] ?? this.snapped(begun.at).at;
        const to = this.snapped(at, from);
        return this.show({ snapped: to, line: [from, this.typedTo(from, to.at)] });
      }
    }
  }

  /** Where a point of the sheet comes to lie on the plan. */
  private snapped(at: Point, from?: Position, moving?: ReadonlySet<Key>, bearers = this.e.tool === "support"): Snapped {
    const p = toPlan(this.e.view, at);
    if (this.free) return { at: p, guides: [] };
    return snap(this.e.plan, p, { reach: reach / this.e.view.scale, grid: gridOf(this.e.view).snap, bearers, ...(from ? { from } : {}), ...(moving ? { moving } : {}) });
  }

  private typedTo(from: Position, to: Position): Position {
    return strokeTo(from, to, parseLength(this.over.typed, this.e.feet));
  }

  private movingBy(at: Point): { by: Position; snapped: Snapped } | undefined {
    if (this.doing.is !== "moving") return undefined;
    const { keys, grabbed } = this.doing;
    const off = toPlan(this.e.view, this.first!.at);
    const to = toPlan(this.e.view, at);
    const wanted = toSheet(this.e.view, [grabbed[0] + to[0] - off[0], grabbed[1] + to[1] - off[1]]);
    const carried = new Set(keys.flatMap((k) => (parts(k).sort === "bearer" ? [k, ...(this.e.plan.bearers?.find((b) => b.id === parts(k).id)?.supports ?? []).map((s) => keyOf("support", s))] : [k])));
    const snapped = this.snapped(wanted, grabbed, carried, keys.length === 1 && parts(keys[0]!).sort === "support");
    const end = this.typedTo(grabbed, snapped.at);
    return { by: [end[0] - grabbed[0], end[1] - grabbed[1]], snapped };
  }

  private drawMove(at: Point): void {
    const m = this.movingBy(at);
    if (!m || this.doing.is !== "moving") return;
    const { grabbed, keys } = this.doing;
    this.show({ plan: edit.move(this.e.plan, keys, m.by), snapped: m.snapped, line: [grabbed, [grabbed[0] + m.by[0], grabbed[1] + m.by[1]]] });
  }

  private drawCorner(at: Point, key: Key, n: number): void {
    const all = outlineOf(this.e.plan, key);
    const s = this.snapped(at, all[(n + all.length - 1) % all.length], new Set([key]), false);
    this.show({ plan: withCorner(this.e.plan, key, n, s.at), snapped: s });
  }

  private hover(at: Point): void {
    if (this.e.tool === "choose" || this.e.looking) return;
    const from = this.e.stroke[this.e.stroke.length - 1];
    const snapped = this.snapped(at, from);
    if (from && corners[this.e.tool] !== 1) this.show({ snapped, line: [from, this.typedTo(from, snapped.at)] });
    else {
      const { line: _, ...rest } = this.over;
      this.over = rest;
      this.show({ snapped });
    }
  }

  lift(id: number, at: Point): void {
    const [first, doing, dragged] = [this.first, this.doing, this.dragged];
    this.down.delete(id);
    if (doing.is === "pinching") {
      if (this.down.size === 0) this.clear();
      return;
    }
    if (!first || first.id !== id) return;
    this.first = undefined;
    if (dragged) this.dropped(first, doing, at);
    else this.tapped(first, doing);
    this.doing = { is: "nothing" };
  }

  private tapped(t: Touch, doing: Doing): void {
    if (doing.is === "stroking") return this.touched(t.at);
    this.clear();
    if (t.key && !t.pan) return this.e.choose([t.key], t.add || this.e.several);
    if (!t.add && !this.e.several && (doing.is === "boxing" || doing.is === "panning") && !t.pan) this.e.choose([], false);
  }

  /** A tool touched the sheet. */
  private touched(at: Point): void {
    const e = this.e;
    const from = e.stroke[e.stroke.length - 1];
    const s = this.snapped(at, from);
    const to = from ? { ...s, at: this.typedTo(from, s.at) } : s;
    const begin = e.stroke[0];
    this.clear();
    if (begin && outlines(e.tool) && e.stroke.length > 2 && distance(begin, to.at) * e.view.scale < 14) return finish(e, e.stroke, this.rows());
    corner(e, to, this.rows());
  }

  private dropped(first: Touch, doing: Doing, at: Point): void {
    const { plan, box } = this.over;
    const m = this.first === undefined && doing.is === "moving" ? this.landing(first, doing, at) : undefined;
    const stroke = doing.is === "stroking" ? this.strokeOf(first, at) : undefined;
    this.clear();
    if (doing.is === "moving" && m) {
      this.e.set({ chosen: doing.keys });
      this.e.move(m);
    } else if (doing.is === "cornering" && plan) this.e.do(plan, "Moved a corner");
    else if (doing.is === "boxing" && box) this.takeBox(box, first.add || this.e.several);
    else if (stroke) finish(this.e, stroke, this.rows());
  }

  private landing(first: Touch, doing: Doing, at: Point): Position | undefined {
    [this.first, this.doing] = [first, doing];
    const m = this.movingBy(at);
    this.first = undefined;
    return m?.by;
  }

  /** A tool was dragged from one place to another. One that puts down a point does so
   *  where it was lifted. */
  private strokeOf(first: Touch, at: Point): Position[] | undefined {
    if (corners[this.e.tool] === 1) {
      corner(this.e, this.snapped(at), this.rows());
      return undefined;
    }
    const from = this.e.stroke[0] ?? this.snapped(first.at).at;
    const to = this.typedTo(from, this.snapped(at, from).at);
    return [from, to];
  }

  private takeBox([a, b]: [Point, Point], add: boolean): void {
    const inside = (p: Position): boolean => {
      const s = toSheet(this.e.view, p);
      return s.x >= Math.min(a.x, b.x) && s.x <= Math.max(a.x, b.x) && s.y >= Math.min(a.y, b.y) && s.y <= Math.max(a.y, b.y);
    };
    const keys = keysOf(this.e.plan).filter((k) => {
      const at = outlineOf(this.e.plan, k);
      return at.length > 0 && at.every(inside);
    });
    const had = add ? this.e.chosen : [];
    this.e.set({ chosen: [...new Set([...had, ...keys])] });
  }

  drop(id: number): void {
    this.down.delete(id);
    this.first = undefined;
    this.clear();
  }

  zoom(by: number, at: Point): void {
    this.e.set({ view: zoomed(this.e.view, by, at) });
  }

  /** A key while something is stretched: its length is typed. Reports whether it was
   *  for this. */
  key(name: string): boolean {
    if (!this.over.line && this.e.stroke.length === 0) return false;
    if (/^[0-9.,'"]$/.test(name)) this.type(this.over.typed + name);
    else if (name === "Backspace" && this.over.typed) this.type(this.over.typed.slice(0, -1));
    else if (name === "Enter") this.enter();
    else return false;
    return true;
  }

  private type(typed: string): void {
    const line = this.over.line;
    this.over = { ...this.over, typed };
    const [from, to] = line ?? [];
    if (from && to) this.show({ line: [from, this.typedTo(from, to)] });
    if (this.doing.is === "moving" && from) {
      const end = this.over.line![1];
      this.show({ plan: edit.move(this.e.plan, this.doing.keys, [end[0] - from[0], end[1] - from[1]]) });
    } else this.heard();
  }

  private enter(): void {
    const { line } = this.over;
    if (this.doing.is === "moving" && line) {
      const { keys } = this.doing;
      this.first = undefined;
      this.clear();
      this.e.set({ chosen: keys });
      return this.e.move([line[1][0] - line[0][0], line[1][1] - line[0][1]]);
    }
    const stroke = this.e.stroke;
    const typed = this.over.typed;
    this.clear();
    if (outlines(this.e.tool) && stroke.length > 1 && !typed) return finish(this.e, stroke, this.rows());
    if (line) corner(this.e, { at: line[1], guides: [] }, this.rows());
  }

  /** The outline that is being put down, as it would be. */
  get outline(): Position[] {
    const { stroke, tool } = this.e;
    const to = this.over.line?.[1];
    if (!outlines(tool) || !to) return to && stroke.length ? [...stroke, to] : this.over.line ?? stroke;
    if (stroke.length === 0 && this.over.line) return rectangleOf(this.over.line[0], to);
    return [...stroke, to];
  }
}

function withCorner(plan: Plan, key: Key, n: number, at: Position): Plan {
  const { sort } = parts(key);
  if (sort === "wall") return edit.change(plan, key, n === 0 ? { from: at } : { to: at });
  return edit.change(plan, key, { outline: outlineOf(plan, key).map((p, i) => (i === n ? at : p)) });
}

