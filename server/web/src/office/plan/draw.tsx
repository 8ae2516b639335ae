// The drawing, to scale, in the language of server/drawing: bearers as double
// lines, joins as gaps, supports as posts, datums as a level line.
import type { ComponentChildren, JSX } from "preact";
import { showLength } from "./measure.ts";
import { keyOf, support, type Bearer, type Key, type Plan, type Position } from "./plan.ts";
import { toSheet, type Point, type View } from "./view.ts";

// As server/drawing has them, px.
const underside = 5, ground = 34, postHalf = 7, bearerEnd = 15;
const apart = 26; // the two ends at a butted join are drawn at least so far apart
const roomForSpan = 46; // px between posts from which on their distance is written

export interface Drawn { plan: Plan; view: View; chosen: ReadonlySet<Key>; wrong: ReadonlySet<Key>; found: ReadonlySet<string>; none: ReadonlySet<string>; feet: boolean }

/** Where each support is drawn: at its place, the ends of a butted join apart. */
export function postsOf(plan: Plan, view: View): Map<string, Point> {
  const at = new Map((plan.supports ?? []).map((s) => [s.id, toSheet(view, [s.x, s.y])]));
  for (const b of plan.bearers ?? []) {
    for (const j of b.joins ?? []) {
      const [p, q] = [at.get(j.at), j.other ? at.get(j.other) : undefined];
      if (j.sort !== "butted" || !p || !q) continue;
      const long = Math.hypot(q.x - p.x, q.y - p.y) || 1;
      const by = Math.max(0, (apart - long) / 2);
      const [dx, dy] = [((q.x - p.x) / long) * by, ((q.y - p.y) / long) * by];
      at.set(j.at, { x: p.x - dx, y: p.y - dy });
      at.set(j.other!, { x: q.x + dx, y: q.y + dy });
    }
  }
  return at;
}

export function Ground({ plan, view, chosen, wrong }: Drawn): JSX.Element {
  return (
    <g>
      {(plan.rooms ?? []).map((r, i) => (
        <g {...marked(keyOf("room", i), chosen, wrong)}>
          <polygon class={`room${r.wet ? " wet" : ""}`} points={pointsOf(r.outline, view)} />
          <polygon class="grip thin" points={pointsOf(r.outline, view)} />
          <text class="room-name" {...corner(r.outline, view)}>{r.name}</text>
        </g>
      ))}
      {(plan.walls ?? []).map((w, i) => <Line at={[w.from, w.to]} view={view} class={`wall${w.masonry ? " masonry" : ""}${w.roof ? " roof" : ""}`} {...marked(keyOf("wall", i), chosen, wrong)} />)}
      {(plan.fixed ?? []).map((t, i) => (
        <g {...marked(keyOf("fixed", i), chosen, wrong)}>
          <polygon class="fixed" points={pointsOf(t.outline, view)} />
          <Name of={t.name} outline={t.outline} view={view} />
        </g>
      ))}
      {(plan.doors ?? []).map((t, i) => <Door outline={t.outline} view={view} {...marked(keyOf("door", i), chosen, wrong)} />)}
      {(plan.hatches ?? []).map((t, i) => <Hatch outline={t.outline} view={view} {...marked(keyOf("hatch", i), chosen, wrong)} />)}
    </g>
  );
}

/** What a thing has whose place on the drawing is touched. */
function marked(key: Key, chosen: ReadonlySet<Key>, wrong: ReadonlySet<Key>): { "data-key": Key; "data-state"?: string } {
  const state = [chosen.has(key) ? "chosen" : "", wrong.has(key) ? "wrong" : ""].filter(Boolean).join(" ");
  return { "data-key": key, ...(state ? { "data-state": state } : {}) };
}

type Marked = ReturnType<typeof marked>;

function pointsOf(outline: Position[], view: View): string {
  return outline.map((p) => toSheet(view, p)).map((p) => `${p.x},${p.y}`).join(" ");
}

/** The top left corner of an outline on the sheet, a little inside. */
function corner(outline: Position[], view: View): Point {
  const at = outline.map((p) => toSheet(view, p));
  return { x: Math.min(...at.map((p) => p.x)) + 8, y: Math.min(...at.map((p) => p.y)) + 20 };
}

function Name({ of, outline, view }: { of: string; outline: Position[]; view: View }): JSX.Element | null {
  const at = outline.map((p) => toSheet(view, p));
  return of ? <text class="id" x={Math.max(...at.map((p) => p.x)) + 6} y={Math.max(...at.map((p) => p.y))}>{of}</text> : null;
}

function Line({ at, view, class: of, ...rest }: { at: [Position, Position]; view: View; class: string } & Marked): JSX.Element {
  const [a, b] = [toSheet(view, at[0]), toSheet(view, at[1])];
  return <g {...rest}><line class="grip" x1={a.x} y1={a.y} x2={b.x} y2={b.y} /><line class={of} x1={a.x} y1={a.y} x2={b.x} y2={b.y} /></g>;
}

function Door({ outline, view, ...rest }: { outline: Position[]; view: View } & Marked): JSX.Element | null {
  const [h, e] = outline.map((p) => toSheet(view, p));
  if (!h || !e) return null;
  const leaf = Math.hypot(e.x - h.x, e.y - h.y);
  const open = { x: h.x + (e.y - h.y), y: h.y - (e.x - h.x) };
  return (
    <g {...rest}>
      <line class="grip" x1={h.x} y1={h.y} x2={e.x} y2={e.y} />
      <line class="door gap" x1={h.x} y1={h.y} x2={e.x} y2={e.y} />
      <path class="pencil" d={`M${h.x} ${h.y}L${open.x} ${open.y}A${leaf} ${leaf} 0 0 1 ${e.x} ${e.y}`} />
    </g>
  );
}

function Hatch({ outline, view, ...rest }: { outline: Position[]; view: View } & Marked): JSX.Element | null {
  const at = outline.map((p) => toSheet(view, p));
  if (at.length === 0) return null;
  const grow = at.length < 3 ? 12 : 0;
  const [x0, x1] = [Math.min(...at.map((p) => p.x)) - grow, Math.max(...at.map((p) => p.x)) + grow];
  const [y0, y1] = [Math.min(...at.map((p) => p.y)) - grow, Math.max(...at.map((p) => p.y)) + grow];
  return (
    <g {...rest}>
      <rect class="hatch" x={x0} y={y0} width={x1 - x0} height={y1 - y0} />
      <path class="pencil" d={`M${x0} ${y0}L${x1} ${y1}M${x0} ${y1}L${x1} ${y0}`} />
    </g>
  );
}

export function Bearers({ plan, view, chosen, wrong, feet }: Drawn): JSX.Element {
  const posts = postsOf(plan, view);
  return <g>{(plan.bearers ?? []).map((b) => <OneBearer key={b.id} b={b} plan={plan} posts={posts} feet={feet} {...marked(keyOf("bearer", b.id), chosen, wrong)} />)}</g>;
}

function OneBearer({ b, plan, posts, feet, ...rest }: { b: Bearer; plan: Plan; posts: Map<string, Point>; feet: boolean } & Marked): JSX.Element | null {
  const at = b.supports.flatMap((s) => posts.get(s) ?? []);
  const first = at[0];
  if (!first) return null;
  const left = at.reduce((a, p) => (p.x < a.x ? p : a), first);
  const upright = Math.abs(at[at.length - 1]!.y - first.y) > Math.abs(at[at.length - 1]!.x - first.x);
  const top = at.reduce((a, p) => (p.y < a.y ? p : a), first);
  return (
    <g {...rest} class="bearer-line">
      {at.slice(1).map((p, i) => <line class="grip" x1={at[i]!.x} y1={at[i]!.y} x2={p.x} y2={p.y} />)}
      {piecesOf(b, posts).map((piece) => <path class="ink" d={doubleLine(piece)} />)}
      {spans(b, plan, posts, feet)}
      {upright ? <text class="bearer" x={top.x} y={top.y - 24} text-anchor="middle">{b.id}</text> : <text class="bearer" x={left.x - 24} y={left.y + 5} text-anchor="end">{b.id}</text>}
    </g>
  );
}

interface Piece { at: Point[]; from: boolean; till: boolean } // from, till: an end that is open timber

/** The lengths of timber that a bearer is made of. */
function piecesOf(b: Bearer, posts: Map<string, Point>): Piece[] {
  const all: Piece[] = [];
  let piece: Piece = { at: [], from: true, till: true };
  b.supports.forEach((id, i) => {
    const p = posts.get(id);
    if (!p) return;
    const before = b.supports[i - 1];
    const butted = b.joins?.some((j) => j.sort === "butted" && ((j.at === before && j.other === id) || (j.other === before && j.at === id)));
    if (i > 0 && butted) {
      all.push(piece);
      piece = { at: [], from: true, till: true };
    }
    piece.at.push(p);
    const hinge = b.joins?.some((j) => j.sort !== "butted" && j.at === id);
    if (hinge && i > 0 && i < b.supports.length - 1) {
      all.push({ ...piece, till: false });
      piece = { at: [p], from: false, till: true };
    }
  });
  return [...all, piece].filter((p) => p.at.length > 0);
}

/** A double line from post to post and a little on, closed where the timber ends. */
function doubleLine({ at, from, till }: Piece): string {
  const ends = at.length === 1 ? [at[0]!, { x: at[0]!.x + 1, y: at[0]!.y }] : at;
  const out: string[] = [];
  for (let i = 1; i < ends.length; i++) {
    const [a, b] = [ends[i - 1]!, ends[i]!];
    const long = Math.hypot(b.x - a.x, b.y - a.y) || 1;
    const [dx, dy] = [(b.x - a.x) / long, (b.y - a.y) / long];
    const near = i === 1 && from ? bearerEnd : 0, far = i === ends.length - 1 && till ? bearerEnd : 0;
    const p = (q: Point, along: number, side: number): string => `${q.x + dx * along - dy * side} ${q.y + dy * along + dx * side}`;
    out.push(`M${p(a, -near, underside)}L${p(b, far, underside)}M${p(a, -near, -underside)}L${p(b, far, -underside)}`);
    if (near) out.push(`M${p(a, -near, underside)}L${p(a, -near, -underside)}`);
    if (far) out.push(`M${p(b, far, underside)}L${p(b, far, -underside)}`);
  }
  return out.join("");
}

/** How far apart the supports stand, where there is room to say it. */
function spans(b: Bearer, plan: Plan, posts: Map<string, Point>, feet: boolean): ComponentChildren {
  return b.supports.slice(1).map((id, i) => {
    const [p, q] = [posts.get(b.supports[i]!), posts.get(id)];
    const [s, t] = [support(plan, b.supports[i]!), support(plan, id)];
    if (!p || !q || !s || !t || Math.hypot(q.x - p.x, q.y - p.y) < roomForSpan) return null;
    const upright = Math.abs(q.y - p.y) > Math.abs(q.x - p.x);
    const at = { x: (p.x + q.x) / 2 + (upright ? 10 : 0), y: (p.y + q.y) / 2 + (upright ? 4 : -10) };
    return <text class="span" x={at.x} y={at.y} text-anchor={upright ? "start" : "middle"}>{showLength(Math.hypot(t.x - s.x, t.y - s.y), feet)}</text>;
  });
}

interface Side { dx: number; dy: number; anchor: "start" | "middle" | "end" }

/** Where the names of supports stand that have no room below: beside the post where
 *  the bearer runs up the sheet, outward at the two ends of a butted join. */
function sidesOf(plan: Plan, posts: Map<string, Point>): Map<string, Side> {
  const out = new Map<string, Side>();
  for (const b of plan.bearers ?? []) {
    const at = b.supports.flatMap((s) => posts.get(s) ?? []);
    const [first, last] = [at[0], at[at.length - 1]];
    if (!first || !last) continue;
    if (Math.abs(last.y - first.y) > Math.abs(last.x - first.x)) for (const s of b.supports) out.set(s, { dx: -14, dy: 22, anchor: "end" });
    else for (const j of b.joins ?? []) if (j.sort === "butted" && j.other) outward(out, posts, j.at, j.other);
  }
  return out;
}

function outward(out: Map<string, Side>, posts: Map<string, Point>, a: string, b: string): void {
  const [p, q] = [posts.get(a), posts.get(b)];
  if (!p || !q) return;
  const [left, right] = p.x <= q.x ? [a, b] : [b, a];
  out.set(left, { dx: 9, dy: ground + 7, anchor: "end" });
  out.set(right, { dx: -9, dy: ground + 7, anchor: "start" });
}

export function Posts({ plan, view, chosen, wrong, found, none }: Drawn): JSX.Element {
  const posts = postsOf(plan, view);
  const sides = sidesOf(plan, posts);
  const names = view.scale > 22;
  return (
    <g>
      {(plan.supports ?? []).map((s) => {
        const p = posts.get(s.id)!;
        const side = sides.get(s.id) ?? { dx: 0, dy: ground + 7, anchor: "middle" };
        return (
          <g key={s.id} {...marked(keyOf("support", s.id), chosen, wrong)} class={`post${found.has(s.id) ? " found" : ""}${none.has(s.id) ? " none" : ""}`}>
            <rect class="halo" x={p.x - 14} y={p.y - 12} width={28} height={ground + 18} />
            <rect class="ink fill-paper" x={p.x - postHalf} y={p.y + underside} width={2 * postHalf} height={ground - underside - 8} />
            <line class="heavy" x1={p.x - 12} y1={p.y + ground - 8} x2={p.x + 12} y2={p.y + ground - 8} />
            {names && <text class="id" x={p.x + side.dx} y={p.y + side.dy} text-anchor={side.anchor}>{s.id}</text>}
          </g>
        );
      })}
    </g>
  );
}

export function Marks({ plan, view, chosen, wrong }: Drawn): JSX.Element {
  return (
    <g>
      {(plan.spots ?? []).map((s) => {
        const p = toSheet(view, [s.x, s.y]);
        return (
          <g key={s.id} {...marked(keyOf("spot", s.id), chosen, wrong)}>
            <rect class="halo" x={p.x - 14} y={p.y - 14} width={28} height={28} />
            <path class="ink" d={`M${p.x - 6} ${p.y}H${p.x + 6}M${p.x} ${p.y - 6}V${p.y + 6}`} />
            <text class="id" x={p.x} y={p.y + 19} text-anchor="middle">{s.id}</text>
          </g>
        );
      })}
      {(plan.datums ?? []).map((d) => {
        const p = toSheet(view, [d.x, d.y]);
        return (
          <g key={d.id} {...marked(keyOf("datum", d.id), chosen, wrong)}>
            <rect class="halo" x={p.x - 18} y={p.y - 14} width={36} height={24} />
            <line class="heavy" x1={p.x - 14} y1={p.y} x2={p.x + 14} y2={p.y} />
            <path class="ink" d={`M${p.x - 6} ${p.y - 9}H${p.x + 6}L${p.x} ${p.y}Z`} />
            <text class="datum-name" x={p.x} y={p.y + 17} text-anchor="middle">{d.id}</text>
          </g>
        );
      })}
    </g>
  );
}

