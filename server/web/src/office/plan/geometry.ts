// The geometry of a plan, in metres.
import type { Position } from "./plan.ts";

/** Nobody measures a floor below a millimetre. */
export function round(metres: number): number {
  const r = Math.round(metres * 1000) / 1000;
  return r === 0 ? 0 : r; // no −0
}

/** Places at distances from a start in a direction, degrees from x, anticlockwise. */
export function along(start: Position, deg: number, at: number[]): Position[] {
  const [dx, dy] = direction(deg);
  return at.map((d) => [round(start[0] + dx * d), round(start[1] + dy * d)]);
}

/** Exact in quarters, so that a level bearer is level to the last bit. */
export function direction(deg: number): Position {
  const d = ((deg % 360) + 360) % 360;
  if (d % 90 === 0) return ([[1, 0], [0, 1], [-1, 0], [0, -1]] as Position[])[d / 90]!;
  return [Math.cos((d * Math.PI) / 180), Math.sin((d * Math.PI) / 180)];
}

/** Which way one place lies from another, degrees from x, anticlockwise. */
export function bearing(from: Position, to: Position): number {
  const deg = (Math.atan2(to[1] - from[1], to[0] - from[0]) * 180) / Math.PI;
  return Math.round(((deg + 360) % 360) * 100) / 100;
}

export function distance(a: Position, b: Position): number {
  return Math.hypot(a[0] - b[0], a[1] - b[1]);
}

/** The place on the line through a and b that is nearest to p, and how far along. */
export function onLine(p: Position, a: Position, b: Position): { at: Position; t: number } {
  const [dx, dy] = [b[0] - a[0], b[1] - a[1]];
  const long = dx * dx + dy * dy;
  const t = long === 0 ? 0 : ((p[0] - a[0]) * dx + (p[1] - a[1]) * dy) / long;
  return { at: [a[0] + dx * t, a[1] + dy * t], t };
}

/** Where somebody says an end of a join is butted, this is how far apart the two
 *  supports are put that share the stump. */
export const buttedM = 0.1;
