// A drawing put in the place of the one before. After a reading a few supports of many
// differ, and only they are written again: to parse, style and lay out 120 takes a
// cheap phone a fifth of a second.

/** A drawing cut at its supports. */
export interface Cut {
  supports: string[];
  rest: string; // with a mark where each of them was
}

export function cut(svg: string): Cut {
  const supports: string[] = [];
  const rest = svg.replace(/<a class="support"[^]*?<\/a>/g, (s) => {
    supports.push(s);
    return "\0"; // stands in no drawing
  });
  return { supports, rest };
}

/** Which supports differ, by number; undefined where more does. */
export function differing(before: Cut, after: Cut): number[] | undefined {
  if (before.rest !== after.rest) return undefined;
  return after.supports.flatMap((s, i) => (s === before.supports[i] ? [] : [i]));
}

/** Writes the drawing, and returns the supports that were written alone. */
export function redraw(into: HTMLElement, before: Cut | undefined, after: Cut, svg: string): Element[] {
  const changed = before && differing(before, after);
  if (!changed) {
    into.innerHTML = svg;
    return [];
  }
  const all = into.getElementsByClassName("support");
  for (const i of changed) all[i]!.outerHTML = after.supports[i]!;
  return changed.map((i) => all[i]!);
}
