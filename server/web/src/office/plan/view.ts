// How the sheet lies in its window: turned by quarters clockwise, never mirrored,
// zoomed and moved. What is given and taken are CSS px of the window.
import { boxOf, type Plan, type Position } from "./plan.ts";

export interface View { turn: number; scale: number; x: number; y: number } // scale: px per metre
export interface Point { x: number; y: number }
export interface Size { wide: number; high: number }

const least = 4, most = 900; // px per metre
const margin = 64; // px around what is drawn, less where the window is narrow

/** As server/drawing turns: y runs down on the sheet. */
function turned([x, y]: Position, turn: number): Point {
  switch (turn) {
    case 1: return { x: y, y: x };
    case 2: return { x: -x, y };
    case 3: return { x: -y, y: -x };
    default: return { x, y: -y };
  }
}

export function toSheet(v: View, p: Position): Point {
  const t = turned(p, v.turn);
  return { x: t.x * v.scale + v.x, y: t.y * v.scale + v.y };
}

export function toPlan(v: View, p: Point): Position {
  return backBy(v.turn, { x: (p.x - v.x) / v.scale, y: (p.y - v.y) / v.scale });
}

function backBy(turn: number, t: Point): Position {
  switch (turn) {
    case 1: return [t.y, t.x];
    case 2: return [-t.x, t.y];
    case 3: return [-t.y, -t.x];
    default: return [t.x, -t.y];
  }
}

/** A step on the sheet, in metres of the plan. */
export function stepOf(v: View, by: Point): Position {
  return backBy(v.turn, by);
}

/** All of the plan, in the middle. */
export function fit(plan: Plan, turn: number, window: Size): View {
  const { from, to } = boxOf(plan);
  const corners = [turned(from, turn), turned(to, turn)];
  const [x0, x1] = [Math.min(corners[0]!.x, corners[1]!.x), Math.max(corners[0]!.x, corners[1]!.x)];
  const [y0, y1] = [Math.min(corners[0]!.y, corners[1]!.y), Math.max(corners[0]!.y, corners[1]!.y)];
  const side = Math.min(margin, window.wide / 9);
  const room = { wide: Math.max(window.wide - 2 * side, 60), high: Math.max(window.high - 2 * margin, 60) };
  const scale = held(Math.min(room.wide / Math.max(x1 - x0, 1), room.high / Math.max(y1 - y0, 1)));
  return { turn, scale, x: window.wide / 2 - ((x0 + x1) / 2) * scale, y: window.high / 2 - ((y0 + y1) / 2) * scale };
}

function held(scale: number): number {
  return Math.min(Math.max(scale, least), most);
}

/** Larger or smaller, with what is under a point staying there. */
export function zoomed(v: View, by: number, at: Point): View {
  const scale = held(v.scale * by);
  const grown = scale / v.scale;
  return { ...v, scale, x: at.x - (at.x - v.x) * grown, y: at.y - (at.y - v.y) * grown };
}

export function panned(v: View, by: Point): View {
  return { ...v, x: v.x + by.x, y: v.y + by.y };
}

/** Two fingers went from one pair of points to another. */
export function pinched(v: View, from: [Point, Point], to: [Point, Point]): View {
  const middle = ([a, b]: [Point, Point]): Point => ({ x: (a.x + b.x) / 2, y: (a.y + b.y) / 2 });
  const apart = ([a, b]: [Point, Point]): number => Math.max(Math.hypot(a.x - b.x, a.y - b.y), 1);
  const [a, b] = [middle(from), middle(to)];
  return zoomed(panned(v, { x: b.x - a.x, y: b.y - a.y }), apart(to) / apart(from), b);
}

/** A round distance in metres that is at least so many px long. */
export function roundStep(v: View, px: number): number {
  return [0.01, 0.05, 0.1, 0.5, 1, 2, 5, 10].find((m) => m * v.scale >= px) ?? 20;
}

/** The grid that somebody sees, and that what is moved snaps to. */
export const gridOf = (v: View): { snap: number; lines: number } => ({ snap: Math.max(0.05, roundStep(v, 4)), lines: Math.max(0.5, roundStep(v, 24)) });
