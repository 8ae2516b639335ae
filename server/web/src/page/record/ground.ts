// Places on the plan that a finger shows: in metres of the plan, seen as the floor is
// turned on this phone, never mirrored.
import type { Plan } from "../../shared/picture.ts";

/** x to the right and y up the plan, metres. */
export type Place = [x: number, y: number];

/** Four corners, one after the other around what was cut. */
export type Outline = [Place, Place, Place, Place];

const stepM = 0.05; // finer than that nobody shows with a finger in a glove
const leastM = 2; // that is seen at once: less would be touched no better and seen without its neighbours
const edgeM = 0.4; // around what is shown

/** The part of a plan that is seen, turned clockwise by quarters; y down. */
export interface View {
  turn: number;
  left: number;
  top: number;
  wide: number;
  high: number;
}

/** A place as it lies on the turned plan, metres, y down. */
export function turned([x, y]: Place, turn: number): Place {
  const as: Place[] = [[x, -y], [y, x], [-x, y], [-y, -x]];
  return as[turn]!;
}

/** What lies there on the plan. */
function back([u, v]: Place, turn: number): Place {
  const as: Place[] = [[u, -v], [v, u], [-u, v], [-v, -u]];
  return as[turn]!;
}

/** All of a plan, or one of its rooms. */
export function viewOf(plan: Plan, room: string, turn: number): View {
  const shown = plan.rooms?.find((r) => r.name === room)?.outline ?? [...(plan.supports ?? []).map((s): Place => [s.x, s.y]), ...(plan.rooms ?? []).flatMap((r) => r.outline)];
  const at = shown.map((p) => turned(p, turn));
  const [left, wide] = spanOf(at.map(([u]) => u));
  const [top, high] = spanOf(at.map(([, v]) => v));
  return { turn, left, top, wide, high };
}

function spanOf(list: number[]): [from: number, long: number] {
  const [least, most] = list.length > 0 ? [Math.min(...list), Math.max(...list)] : [0, 0];
  const long = Math.max(most - least + 2 * edgeM, leastM);
  return [(least + most - long) / 2, long];
}

/** The place under a finger, which is given as parts of the view from its top left. */
export function placeAt(view: View, across: number, down: number): Place {
  const held = (part: number) => Math.min(Math.max(part, 0), 1);
  const [x, y] = back([view.left + held(across) * view.wide, view.top + held(down) * view.high], view.turn);
  return [stepped(x), stepped(y)];
}

/** A place moved by steps to the right and down of the drawing. */
export function stepBy(at: Place, right: number, down: number, turn: number): Place {
  const [u, v] = turned(at, turn);
  const [x, y] = back([u + right * stepM, v + down * stepM], turn);
  return [stepped(x), stepped(y)];
}

const stepped = (m: number) => rounded(Math.round(m / stepM) * stepM);
const rounded = (m: number) => Math.round(m * 1000) / 1000 || 0; // no -0 is recorded

/** What lies between two opposite corners. */
export function between([ax, ay]: Place, [bx, by]: Place): Outline {
  return [[ax, ay], [bx, ay], [bx, by], [ax, by]];
}

/** How long its sides are as it is drawn, metres: across, and down. */
export function sidesOf(o: Outline, turn: number): Place {
  const [a, b] = [turned(o[0], turn), turned(o[2], turn)];
  return [rounded(Math.abs(a[0] - b[0])), rounded(Math.abs(a[1] - b[1]))];
}

/** The same from its first corner with sides that were measured, metres. */
export function sized(o: Outline, [across, down]: Place, turn: number): Outline {
  const [a, b] = [turned(o[0], turn), turned(o[2], turn)];
  const to = back([a[0] + (b[0] < a[0] ? -across : across), a[1] + (b[1] < a[1] ? -down : down)], turn);
  return between(o[0], [rounded(to[0]), rounded(to[1])]);
}
