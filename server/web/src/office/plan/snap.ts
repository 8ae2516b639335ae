// Where a point comes to lie that is moved by hand: on what it is nearly on.
import { onLine, round } from "./geometry.ts";
import { grounds, keyOf, listOf, outlineOf, places, type Key, type Plan, type Position } from "./plan.ts";

export interface Snapping {
  reach: number; // metres: how near is nearly
  grid: number; // metres
  moving?: ReadonlySet<Key>; // what moves along lines up with nothing
  from?: Position; // where the stroke began: right angles to it
  bearers?: boolean; // it may come to lie on the line of a bearer
}

export interface Snapped {
  at: Position;
  guides: [Position, Position][]; // what it lined up with
  bearer?: string; // the line it lies on
}

/** Lines up with a bearer first, then with others, then with the grid. */
export function snap(plan: Plan, p: Position, s: Snapping): Snapped {
  const others = candidates(plan, s);
  const line = s.bearers ? nearestBearer(plan, p, s) : undefined;
  if (line) return onBearer(line, p, others, s);
  const x = nearestOn(0, p, others, s.reach), y = nearestOn(1, p, others, s.reach);
  const at: Position = [x ? x[0] : toGrid(p[0], s.grid), y ? y[1] : toGrid(p[1], s.grid)];
  const guides: [Position, Position][] = [];
  if (x) guides.push([x, at]);
  if (y) guides.push([y, at]);
  return { at: [round(at[0]), round(at[1])], guides };
}

function toGrid(v: number, grid: number): number {
  return Math.round(v / grid) * grid;
}

/** The points that others have, and where the stroke began. */
function candidates(plan: Plan, s: Snapping): Position[] {
  const all = s.from ? [s.from] : [];
  for (const sort of places) {
    for (const p of plan[listOf[sort]] ?? []) if (!s.moving?.has(keyOf(sort, p.id))) all.push([p.x, p.y]);
  }
  for (const sort of grounds) (plan[listOf[sort]] ?? []).forEach((_, i) => s.moving?.has(keyOf(sort, i)) || all.push(...outlineOf(plan, keyOf(sort, i))));
  return all;
}

/** The nearest point whose x (0) or y (1) is nearly that of p. */
function nearestOn(axis: 0 | 1, p: Position, others: Position[], reach: number): Position | undefined {
  let best: Position | undefined;
  let least = reach;
  let far = Infinity;
  for (const o of others) {
    const off = Math.abs(o[axis] - p[axis]), away = Math.abs(o[1 - axis]! - p[1 - axis]!);
    if (off < least - 1e-9 || (off <= least && off < reach && away < far)) [best, least, far] = [o, off, away];
  }
  return best;
}

interface Line { id: string; a: Position; b: Position }

function nearestBearer(plan: Plan, p: Position, s: Snapping): Line | undefined {
  let best: Line | undefined;
  let least = s.reach * 1.5; // a support belongs on a bearer
  for (const b of plan.bearers ?? []) {
    const ends = b.supports.filter((id) => !s.moving?.has(keyOf("support", id))).flatMap((id) => outlineOf(plan, keyOf("support", id)));
    const [a, z] = [ends[0], ends[ends.length - 1]];
    if (!a || !z || ends.length < 2) continue;
    const { at, t } = onLine(p, a, z);
    const off = Math.hypot(at[0] - p[0], at[1] - p[1]);
    if (off < least && t > -0.5 && t < 1.5) [best, least] = [{ id: b.id, a, b: z }, off];
  }
  return best;
}

/** On the line of a bearer, and there beside what stands across it. */
function onBearer(line: Line, p: Position, others: Position[], s: Snapping): Snapped {
  const level = Math.abs(line.b[0] - line.a[0]) >= Math.abs(line.b[1] - line.a[1]) ? 0 : 1;
  const beside = nearestOn(level, p, others, s.reach);
  const wanted: Position = [...p];
  wanted[level] = beside ? beside[level] : toGrid(p[level], s.grid);
  const at = crossing(line, level, wanted[level]);
  const guides: [Position, Position][] = [[line.a, at]];
  if (beside) guides.push([beside, at]);
  return { at: [round(at[0]), round(at[1])], guides, bearer: line.id };
}

/** The point of a line with a given x (0) or y (1). */
function crossing(line: Line, axis: 0 | 1, v: number): Position {
  const long = line.b[axis] - line.a[axis];
  const t = long === 0 ? 0 : (v - line.a[axis]) / long;
  return [line.a[0] + (line.b[0] - line.a[0]) * t, line.a[1] + (line.b[1] - line.a[1]) * t];
}

/** A stroke that is nearly along an axis is along it; a typed length is exact. */
export function strokeTo(from: Position, to: Position, typed: number | undefined): Position {
  if (typed === undefined) return to;
  const [dx, dy] = [to[0] - from[0], to[1] - from[1]];
  const long = Math.hypot(dx, dy);
  if (long === 0) return [round(from[0] + typed), from[1]];
  return [round(from[0] + (dx / long) * typed), round(from[1] + (dy / long) * typed)];
}
