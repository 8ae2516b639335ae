// The sheet: the plan as it is, what a hand is about to do to it, and what is under it.
import type { JSX } from "preact";
import { useEffect, useLayoutEffect, useReducer, useRef } from "preact/hooks";
import { Bearers, Ground, Marks, Posts } from "./draw.tsx";
import type { Editor } from "./editor.ts";
import { bearing, distance } from "./geometry.ts";
import type { Hand, Touch } from "./hand.ts";
import { showLength } from "./measure.ts";
import { keysOf, outlineOf, parts, type Key, type Plan } from "./plan.ts";
import { keyOfField, lineOf } from "./said.ts";
import { Underlay } from "./underlay.tsx";
import { gridOf, panned, roundStep, toPlan, toSheet, zoomed, type Point } from "./view.ts";

export function Sheet({ e, hand }: { e: Editor; hand: Hand }): JSX.Element {
  const box = useRef<HTMLDivElement>(null);
  const [, again] = useReducer((n: number, _: void) => n + 1, 0);
  useEffect(() => {
    hand.listen(() => again());
    return e.listen((sheetAlone) => sheetAlone && again());
  }, [e, hand]);
  useLayoutEffect(() => {
    const el = box.current!;
    const measure = (): void => e.resize({ wide: el.clientWidth, high: el.clientHeight });
    const seen = new ResizeObserver(measure);
    seen.observe(el);
    measure();
    return () => seen.disconnect();
  }, [e]);
  useEffect(() => listen(box.current!, e, hand), [e, hand]);
  const plan = e.looking?.plan ?? hand.over.plan ?? e.plan;
  const wrong = new Set([...e.advice.filter((a) => a.wrong).map((a) => a.field), e.refused?.field].flatMap((f) => keyOfField(plan, f) ?? []));
  const drawn = { plan, view: e.view, chosen: new Set(e.chosen), wrong, found: new Set(e.now.found), none: new Set(e.now.none), feet: e.feet };
  return (
    <div ref={box} class={`plan-sheet tool-${e.tool}${e.looking ? " looking" : ""}`} tabIndex={0} role="group" aria-label={`The drawing, ${(plan.supports ?? []).length} ${e.now.words["support"]}s`} aria-describedby="plan-hint">
      <svg width={e.window.wide} height={e.window.high} aria-hidden="true">
        <Underlay e={e} plan={plan} />
        <Grid e={e} />
        <Ground {...drawn} />
        <JoistMark e={e} plan={plan} />
        <Bearers {...drawn} />
        <Posts {...drawn} />
        <Marks {...drawn} />
        <Corners e={e} plan={plan} />
        <OverHand e={e} hand={hand} />
        <Edge e={e} plan={plan} />
      </svg>
    </div>
  );
}

/** Turns what the browser says into touches. */
function listen(el: HTMLElement, e: Editor, hand: Hand): () => void {
  const at = (ev: PointerEvent | WheelEvent): Point => {
    const r = el.getBoundingClientRect();
    return { x: ev.clientX - r.left, y: ev.clientY - r.top };
  };
  const ends = new AbortController();
  const on = <K extends keyof HTMLElementEventMap>(name: K, then: (ev: HTMLElementEventMap[K]) => void): void =>
    el.addEventListener(name, then, { signal: ends.signal, passive: false });
  on("pointerdown", (ev) => {
    if (ev.button > 1) return;
    try { el.setPointerCapture(ev.pointerId); } catch { /* a pointer that is gone already */ }
    const thing = (ev.target as Element).closest<SVGElement>("[data-key]"), corner = (ev.target as Element).closest<SVGElement>("[data-corner]");
    hand.press({
      id: ev.pointerId, at: at(ev), finger: ev.pointerType === "touch", add: ev.shiftKey || ev.ctrlKey || ev.metaKey, free: ev.altKey, pan: ev.button === 1,
      key: (thing?.dataset["key"] as Key | undefined), corner: corner ? Number(corner.dataset["corner"]) : undefined,
    } satisfies Touch);
  });
  on("pointermove", (ev) => hand.moveTo(ev.pointerId, at(ev), ev.altKey));
  on("pointerup", (ev) => hand.lift(ev.pointerId, at(ev)));
  on("pointercancel", (ev) => hand.drop(ev.pointerId));
  on("wheel", (ev) => {
    ev.preventDefault();
    if (ev.shiftKey) e.set({ view: panned(e.view, { x: -ev.deltaY || -ev.deltaX, y: 0 }) });
    else e.set({ view: zoomed(e.view, Math.exp(-Math.max(-80, Math.min(80, ev.deltaY)) / 240), at(ev)) });
  });
  return () => ends.abort();
}

/** Fine lines as far apart as a round distance. */
function Grid({ e }: { e: Editor }): JSX.Element {
  const { wide, high } = e.window;
  const step = gridOf(e.view).lines;
  const [a, b] = [toPlan(e.view, { x: 0, y: 0 }), toPlan(e.view, { x: wide, y: high })];
  let d = "";
  for (const axis of [0, 1] as const) {
    const [from, to] = [Math.min(a[axis], b[axis]), Math.max(a[axis], b[axis])];
    for (let v = Math.ceil(from / step) * step; v <= to; v += step) {
      const p = toSheet(e.view, axis === 0 ? [v, a[1]] : [a[0], v]), q = toSheet(e.view, axis === 0 ? [v, b[1]] : [b[0], v]);
      d += `M${p.x} ${p.y}L${q.x} ${q.y}`;
    }
  }
  return <path class="grid" d={d} />;
}

/** Which way the joists run: three of them, beside the plan's middle. */
function JoistMark({ e, plan }: { e: Editor; plan: Plan }): JSX.Element | null {
  if (!plan.joists || !plan.supports?.length) return null;
  const { deg, at } = { deg: (plan.joists.direction_deg * Math.PI) / 180, at: toSheet(e.view, [Math.min(...plan.supports.map((s) => s.x)), Math.max(...plan.supports.map((s) => s.y))]) };
  const to = toSheet({ ...e.view, x: 0, y: 0, scale: 1 }, [Math.cos(deg), Math.sin(deg)]);
  const [x, y] = [at.x - 40, at.y - 34];
  const lines = [-6, 0, 6].map((o) => `M${x - to.x * 22 - to.y * o} ${y - to.y * 22 + to.x * o}l${to.x * 44} ${to.y * 44}`).join("");
  return <g><path class="pencil" d={lines} /><text class="edge" x={x + 30} y={y + 4}>joists</text></g>;
}

/** The corners of the one outline that is chosen, to be dragged. */
function Corners({ e, plan }: { e: Editor; plan: Plan }): JSX.Element | null {
  const [key] = e.chosen;
  if (!key || e.chosen.length > 1 || !["room", "wall", "fixed", "door", "hatch"].includes(parts(key).sort)) return null;
  return (
    <g data-key={key}>
      {outlineOf(plan, key).map((p, i) => {
        const s = toSheet(e.view, p);
        return <g key={i} data-corner={i}><rect class="halo" x={s.x - 14} y={s.y - 14} width={28} height={28} /><rect class="corner" x={s.x - 5} y={s.y - 5} width={10} height={10} /></g>;
      })}
    </g>
  );
}

/** What a hand is about to do: where it lines up, what it stretches, what it takes. */
function OverHand({ e, hand }: { e: Editor; hand: Hand }): JSX.Element {
  const { snapped, box, line, typed } = hand.over;
  const outline = e.tool === "choose" ? [] : hand.outline.map((p) => toSheet(e.view, p));
  return (
    <g class="over">
      {snapped?.guides.map(([a, b], i) => <Stroke key={i} class="guide" from={toSheet(e.view, a)} to={toSheet(e.view, b)} />)}
      {box && <rect class="taking" x={Math.min(box[0].x, box[1].x)} y={Math.min(box[0].y, box[1].y)} width={Math.abs(box[1].x - box[0].x)} height={Math.abs(box[1].y - box[0].y)} />}
      {outline.length > 1 && <polyline class="stretch" points={outline.map((p) => `${p.x},${p.y}`).join(" ")} />}
      {e.stroke.map((p, i) => <Cross key={i} at={toSheet(e.view, p)} />)}
      {snapped && <Cross at={toSheet(e.view, line?.[1] ?? snapped.at)} />}
      {line && <Length e={e} from={line[0]} to={line[1]} typed={typed} />}
    </g>
  );
}

function Stroke({ class: of, from, to }: { class: string; from: Point; to: Point }): JSX.Element {
  return <line class={of} x1={from.x} y1={from.y} x2={to.x} y2={to.y} />;
}

function Cross({ at }: { at: Point }): JSX.Element {
  return <path class="cross" d={`M${at.x - 7} ${at.y}H${at.x + 7}M${at.x} ${at.y - 7}V${at.y + 7}`} />;
}

/** How long what is stretched is, or what is being typed. */
function Length({ e, from, to, typed }: { e: Editor; from: [number, number]; to: [number, number]; typed: string }): JSX.Element {
  const [p, q] = [toSheet(e.view, from), toSheet(e.view, to)];
  const deg = bearing(from, to);
  const says = typed ? `${typed}|` : `${showLength(distance(from, to), e.feet)}${deg % 90 === 0 ? "" : `, ${Math.round(deg)}°`}`;
  return <text class="length" x={(p.x + q.x) / 2} y={(p.y + q.y) / 2 - 16} text-anchor="middle">{says}</text>;
}

/** What belongs to the sheet: its scale, and the street. */
function Edge({ e, plan }: { e: Editor; plan: Plan }): JSX.Element {
  const { wide, high } = e.window;
  const unit = e.feet ? 0.3048 : 1;
  const step = roundStep({ ...e.view, scale: e.view.scale * unit }, 70);
  const long = step * e.view.scale * unit;
  const y = high - 16;
  return (
    <g>
      <path class="heavy" d={`M16 ${y}h${long}`} /><path class="ink" d={`M16 ${y - 5}v10M${16 + long} ${y - 5}v10`} />
      <text class="edge" x={24 + long} y={y + 5}>{step} {e.feet ? "ft" : "m"}</text>
      {plan.street && <Street side={plan.street} turn={e.view.turn} wide={wide} high={high} />}
    </g>
  );
}

function Street({ side, turn, wide, high }: { side: string; turn: number; wide: number; high: number }): JSX.Element {
  const order = ["top", "right", "bottom", "left"];
  const there = order[(order.indexOf(side) + turn) % 4];
  const at = { top: [wide / 2, 20, 0], bottom: [wide / 2, high - 11, 0], left: [20, high / 2, -90], right: [wide - 12, high / 2, -90] }[there!]!;
  return <text class="edge" x={at[0]!} y={at[1]!} text-anchor="middle" {...(at[2] ? { transform: `rotate(${at[2]} ${at[0]} ${at[1]})` } : {})}>street this way</text>;
}

/** The keys of the sheet and of the page around it. Reports whether one was used. */
export function sheetKey(e: Editor, hand: Hand, ev: KeyboardEvent): boolean {
  if (hand.key(ev.key)) return true;
  const arrow = arrows[ev.key];
  if (arrow) {
    const far = ev.shiftKey ? 10 : 1;
    if (e.chosen.length) e.move(stepped(e, arrow, (e.feet ? 0.0254 : 0.01) * far), "Nudged");
    else e.set({ view: panned(e.view, { x: -arrow.x * 60 * far, y: -arrow.y * 60 * far }) });
    return true;
  }
  const middle = { x: e.window.wide / 2, y: e.window.high / 2 };
  switch (ev.key) {
    case "+": case "=": hand.zoom(1.3, middle); return true;
    case "-": hand.zoom(1 / 1.3, middle); return true;
    case "0": e.fit(); return true;
    case "PageDown": step(e, 1); return true;
    case "PageUp": step(e, -1); return true;
    default: return false;
  }
}

const arrows: Record<string, Point> = { ArrowLeft: { x: -1, y: 0 }, ArrowRight: { x: 1, y: 0 }, ArrowUp: { x: 0, y: -1 }, ArrowDown: { x: 0, y: 1 } };

/** An arrow goes where it points on the sheet, however that is turned. */
function stepped(e: Editor, arrow: Point, metres: number): [number, number] {
  const p = toPlan({ ...e.view, x: 0, y: 0, scale: 1 }, arrow);
  return [p[0] * metres, p[1] * metres];
}

/** Chooses the next thing of the list, and says it. */
function step(e: Editor, by: number): void {
  const all = keysOf(e.plan);
  if (all.length === 0) return;
  const at = e.chosen[0] ? all.indexOf(e.chosen[0]) : by > 0 ? -1 : 0;
  const key = all[(at + by + all.length) % all.length]!;
  e.choose([key], false);
  e.set({ said: lineOf(e.plan, key, e.speech) });
}
