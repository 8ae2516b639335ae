// How a picture lies under a plan: two of its points are known in both.
import { bearing, direction, round } from "./geometry.ts";
import type { Position, Underlay } from "./plan.ts";

/** Turns a px of a picture into metres: enlarged and turned, never mirrored. */
export interface Fit { a: number; b: number; x: number; y: number } // right = a·u + b·v + x, up = b·u − a·v + y

export function fitOf({ pixels: [p, q], metres: [m, n] }: Pick<Underlay, "pixels" | "metres">): Fit {
  const [u, v] = [q[0] - p[0], -(q[1] - p[1])];
  const [dx, dy] = [n[0] - m[0], n[1] - m[1]];
  const long = u * u + v * v || 1;
  const [a, b] = [(dx * u + dy * v) / long, (dy * u - dx * v) / long];
  return { a, b, x: m[0] - a * p[0] - b * p[1], y: m[1] - b * p[0] + a * p[1] };
}

export function toMetres(f: Fit, [u, v]: Position): Position {
  return [f.a * u + f.b * v + f.x, f.b * u - f.a * v + f.y];
}

export function toPixels(f: Fit, [x, y]: Position): Position {
  const long = f.a * f.a + f.b * f.b || 1;
  const [dx, dy] = [x - f.x, y - f.y];
  return [(f.a * dx + f.b * dy) / long, (f.b * dx - f.a * dy) / long];
}

export type Way = "as it lies" | "level" | "upright";

/** The same picture after two of its points turned out to be so far apart: the first
 *  stays where it is; the line between them keeps its way, or is turned level or
 *  upright, whichever end is nearer. */
export function scaled(u: Underlay, from: Position, to: Position, metres: number, way: Way): Underlay {
  const f = fitOf(u);
  const [dx, dy] = direction(turnedTo(bearing(from, to), way));
  const end: Position = [round(from[0] + dx * metres), round(from[1] + dy * metres)];
  const tenth = ([a, b]: Position): Position => [Math.round(a * 10) / 10, Math.round(b * 10) / 10];
  return { ...u, pixels: [tenth(toPixels(f, from)), tenth(toPixels(f, to))], metres: [from, end] };
}

function turnedTo(deg: number, way: Way): number {
  if (way === "as it lies") return deg;
  if (way === "level") return deg > 90 && deg < 270 ? 180 : 0;
  return deg < 180 ? 90 : 270;
}
