// How a drawing lies in the window it is seen through. The window's top left is 0, 0;
// what is given and taken are CSS px of the window.

export interface Size {
  wide: number;
  high: number;
}

export interface Place {
  x: number;
  y: number;
}

/** Where the top left of the drawing is, and how much larger than full size it is. */
export interface Look extends Place {
  scale: number;
}

const closest = 3; // times full size: letters of 13 px are then 39

/** The size a drawing of ours says it has. */
export function sheetOf(svg: string): Size {
  const [, wide, high] = /^<svg[^>]* width="([\d.]+)" height="([\d.]+)"/.exec(svg) ?? [];
  return { wide: Number(wide) || 1, high: Number(high) || 1 };
}

function fitting(sheet: Size, window: Size): number {
  return Math.min(window.wide / sheet.wide, window.high / sheet.high, 1);
}

/** All of the drawing, in the middle. */
export function whole(sheet: Size, window: Size): Look {
  return held({ scale: 0, x: 0, y: 0 }, sheet, window);
}

/** Where one begins who has not looked yet: full size, so that it can be read and
 *  touched, around a place of the drawing, or its middle. */
export function begin(sheet: Size, window: Size, around: Place = { x: sheet.wide / 2, y: sheet.high / 2 }): Look {
  return held({ scale: 1, x: window.wide / 2 - around.x, y: window.high / 2 - around.y }, sheet, window);
}

/** The nearest look that loses the drawing neither out of sight nor out of scale. */
export function held(look: Look, sheet: Size, window: Size): Look {
  const scale = Math.min(Math.max(look.scale, fitting(sheet, window)), closest);
  return { scale, x: along(look.x, sheet.wide * scale, window.wide), y: along(look.y, sheet.high * scale, window.high) };
}

/** A side that is shorter than the window stands in its middle; a longer one leaves
 *  no part of the window empty. */
function along(at: number, long: number, window: number): number {
  return long <= window ? (window - long) / 2 : Math.min(0, Math.max(at, window - long));
}

export function moved(look: Look, by: Place, sheet: Size, window: Size): Look {
  return held({ ...look, x: look.x + by.x, y: look.y + by.y }, sheet, window);
}

/** Larger or smaller by a factor, with what is under a place of the window staying
 *  there. */
export function zoomed(look: Look, by: number, at: Place, sheet: Size, window: Size): Look {
  const scale = held({ ...look, scale: look.scale * by }, sheet, window).scale;
  const grown = scale / look.scale;
  return held({ scale, x: at.x - (at.x - look.x) * grown, y: at.y - (at.y - look.y) * grown }, sheet, window);
}

/** Two fingers went from one pair of places to another. */
export function pinched(look: Look, from: [Place, Place], to: [Place, Place], sheet: Size, window: Size): Look {
  const [a, b] = [middle(...from), middle(...to)];
  const by = apart(...to) / Math.max(apart(...from), 1);
  return zoomed(moved(look, { x: b.x - a.x, y: b.y - a.y }, sheet, window), by, b, sheet, window);
}

function middle(a: Place, b: Place): Place {
  return { x: (a.x + b.x) / 2, y: (a.y + b.y) / 2 };
}

export function apart(a: Place, b: Place): number {
  return Math.hypot(a.x - b.x, a.y - b.y);
}

/** The drawing was turned clockwise by quarters: what was in the middle of the window
 *  comes there again. */
export function turned(look: Look, quarters: number, from: Size, to: Size, window: Size): Look {
  let [u, v] = [(window.wide / 2 - look.x) / look.scale / from.wide, (window.high / 2 - look.y) / look.scale / from.high];
  for (let i = 0; i < quarters; i++) [u, v] = [1 - v, u];
  const { scale } = look;
  return held({ scale, x: window.wide / 2 - u * to.wide * scale, y: window.high / 2 - v * to.high * scale }, to, window);
}

/** Moves no further than it takes to see a part of the drawing, given in the window. */
export function into(look: Look, part: Place & Size, sheet: Size, window: Size): Look {
  const by = { x: inside(part.x, part.wide, window.wide), y: inside(part.y, part.high, window.high) };
  return moved(look, by, sheet, window);
}

function inside(at: number, long: number, window: number): number {
  if (at < 0) return -at;
  return Math.min(0, window - at - long);
}
