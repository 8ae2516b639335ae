// What the tools put down: from corners that were touched, or typed.
import * as edit from "./edit.ts";
import type { Editor, Tool } from "./editor.ts";
import { bearing, distance, round } from "./geometry.ts";
import { parseLength, parseSpans, Untold } from "./measure.ts";
import { listOf, type Plan, type Position } from "./plan.ts";
import { nameOf, sortWord } from "./said.ts";
import type { Snapped } from "./snap.ts";

/** How many corners a tool takes; 0: as many as somebody puts down. */
export const corners: Record<Tool, number> = { choose: 0, bearer: 2, support: 1, datum: 1, spot: 1, room: 0, wall: 2, fixed: 0, door: 2, hatch: 0, scale: 2 };

/** Tools whose corners make an outline: two of them are opposite ones. */
export function outlines(tool: Tool): tool is "room" | "fixed" | "hatch" {
  return tool === "room" || tool === "fixed" || tool === "hatch";
}

/** What is typed beside the bearer tool. */
export interface RowsTyped { spans: string; count: string; apart: string }

const usualSpan = 1.5; // metres: as timber floors are often built, where nobody says

/** Puts down bearers from a start in a direction, and reports whether it did. */
export function putBearers(e: Editor, from: Position, deg: number, typed: RowsTyped, long?: number): boolean {
  try {
    const at = typed.spans.trim() ? parseSpans(typed.spans, e.feet) : evenly(long ?? 0);
    const count = whole(typed.count || "1", "how many bearers: a whole number from 1 to 60");
    const apart = count > 1 ? parseLength(typed.apart, e.feet) : 0;
    if (apart === undefined || (count > 1 && apart === 0)) throw new Untold("how far apart the bearers lie: 1.8");
    const { plan, keys } = edit.addBearers(e.plan, { start: from, deg, at, count, apart });
    e.do(plan, `Put down ${keys.length === 1 ? nameOf(plan, keys[0]!) : `${keys.length} ${e.now.words["bearer"]}s`} with ${at.length * count} ${e.now.words["support"]}s`, keys);
    return true;
  } catch (err) {
    if (!(err instanceof Untold)) throw err;
    e.set({ refused: { field: "rows", cure: err.message } });
    return false;
  }
}

function whole(text: string, cure: string): number {
  const n = Number(text.trim());
  if (!Number.isInteger(n) || n < 1 || n > 60) throw new Untold(cure);
  return n;
}

/** Supports about as far apart as usual, the last one at the end. */
function evenly(long: number): number[] {
  if (long <= 0) throw new Untold("say how many and how far apart: 7 x 1.5, or the spans one by one: 1.2 1.4 1.5");
  const spans = Math.max(1, Math.round(long / usualSpan));
  return Array.from({ length: spans + 1 }, (_, i) => round((long / spans) * i));
}

/** One more corner of what the tool in hand puts down. */
export function corner(e: Editor, s: Snapped, typed: RowsTyped): void {
  const stroke = [...e.stroke, s.at];
  const wanted = corners[e.tool];
  if (wanted === 1) return putPlace(e, s);
  if (wanted === 0 || stroke.length < wanted) return e.set({ stroke });
  finish(e, stroke, typed);
}

function putPlace(e: Editor, s: Snapped): void {
  const sort = e.tool as "support" | "datum" | "spot";
  const put = sort === "support" && s.bearer ? edit.addOnBearer(e.plan, s.bearer, s.at) : edit.addPlace(e.plan, sort, s.at);
  e.do(put.plan, `Put down ${nameOf(put.plan, put.keys[0]!)}`, put.keys);
}

/** Puts down what the corners make. */
export function finish(e: Editor, stroke: Position[], typed: RowsTyped): void {
  const [a, b] = stroke;
  if (!a || !b || distance(a, b) < 0.01) return e.set({ stroke: [] });
  switch (e.tool) {
    case "bearer":
      e.set({ stroke: [] });
      putBearers(e, a, bearing(a, b), typed, distance(a, b));
      return;
    case "scale":
      return e.set({ stroke });
    case "wall": case "door":
      putOutline(e, e.tool, [a, b]);
      return e.set({ stroke: e.tool === "wall" ? [b] : [] }); // the next wall goes on from here
    case "room": case "fixed": case "hatch":
      putOutline(e, e.tool, stroke.length === 2 ? rectangleOf(a, b) : stroke);
      return e.set({ stroke: [] });
    default:
      return e.set({ stroke: [] });
  }
}

export function rectangleOf([x0, y0]: Position, [x1, y1]: Position): Position[] {
  const [l, r, d, u] = [Math.min(x0, x1), Math.max(x0, x1), Math.min(y0, y1), Math.max(y0, y1)];
  return [[l, d], [r, d], [r, u], [l, u]];
}

function putOutline(e: Editor, sort: "wall" | "room" | "fixed" | "door" | "hatch", outline: Position[]): void {
  const put = edit.addOutline(e.plan, sort, outline, newName(e.plan, sort));
  e.do(put.plan, `Put down ${sort === "wall" ? "a wall" : nameOf(put.plan, put.keys[0]!)}`, put.keys);
}

/** A room, hearth or door is called by its number until somebody says more. */
function newName(plan: Plan, sort: "wall" | "room" | "fixed" | "door" | "hatch"): string {
  const n = (plan[listOf[sort]] ?? []).length + 1;
  const word = sort === "fixed" ? "hearth" : sort;
  return n === 1 && sort !== "room" ? word : `${word} ${n}`;
}

/** Corners as they are typed: "0 0, 4.6 0, 4.6 2.9". */
export function parseCorners(text: string, feet: boolean): Position[] {
  return text.split(/[,;\n]/).filter((pair) => pair.trim()).map((pair) => {
    const [x, y, more] = pair.trim().split(/\s+/).map((w) => parseLength(w, feet));
    if (x === undefined || y === undefined || more !== undefined) throw new Untold(`"${pair.trim()}" is no corner: across and up, with a space between: 4.6 0`);
    return [round(x), round(y)];
  });
}

/** What is put down next, in a line for who has never drawn one. */
export function hint(e: Editor): string {
  const support = e.now.words["support"]!, bearer = sortWord("bearer", e.speech);
  const begun = e.stroke.length > 0;
  switch (e.tool) {
    case "choose": return e.chosen.length ? "Drag to move it, or change its fields. Arrow keys nudge; shift or “Several” adds more." : `Touch a thing to change or move it; drag over empty paper to take several. Or take a tool and put something down.`;
    case "bearer": return begun ? "Touch where it ends; or type its length and press Enter." : `Touch where the first ${support} stands, then where the ${bearer} runs to; or fill in the line under the drawing.`;
    case "support": return `Touch where it stands: near a ${bearer} it goes onto it.`;
    case "datum": return "Touch where it is; it may be far off the floor. Then say what it stands on.";
    case "spot": return "Touch a place that is read and not lifted: a hearth edge, a doorway.";
    case "room": return begun ? "Touch corner after corner; Enter, or the first corner again, closes it." : "Drag from one corner to the opposite one; or touch the corners one after another.";
    case "wall": return begun ? "Touch where it ends; the next goes on from there. Escape stops." : "Touch where it begins, then where it ends.";
    case "fixed": return "What will not move: drag over the hearth, the chimney, the edge of the slab.";
    case "door": return begun ? "Touch the other side of the opening." : "Touch the hinge side, then the other side.";
    case "hatch": return "Drag over the opening through which one gets under.";
    case "scale": return e.stroke.length > 1 ? "Now say how far apart the two are." : begun ? "Touch a second point, as far away as you can." : "Touch a point of the picture of which you know how far another one is.";
  }
}

