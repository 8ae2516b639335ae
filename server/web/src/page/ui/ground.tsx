// The plan, or one room of it, to show a place on: by a finger, or with arrows and Enter.
import { useState } from "preact/hooks";
import type { Picture, Plan } from "../../shared/picture.ts";
import { Street } from "../floor.tsx";
import { placeAt, stepBy, turned, viewOf, type Outline, type Place, type View } from "../record/ground.ts";
import "./ground.css";

const widePx = 336; // of a phone's screen; a wider one shows it larger
const mostHighPx = 360;
const mostNames = 24; // more would lie over one another

const arrows: Record<string, [right: number, down: number]> = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };

interface Props {
  picture: Picture;
  room: string; // that is shown alone, where the plan has one of that name
  mark: Place | undefined; // what was touched last
  outline?: Outline | undefined; // what is drawn as cut
  touched: (at: Place) => void;
  label: string;
}

export function Ground(p: Props) {
  const turn = turnOf(p.picture.job);
  const view = viewOf(p.picture.plan, p.room, turn);
  const [cross, setCross] = useState<Place>();
  const touch = (e: MouseEvent) => {
    const box = (e.currentTarget as Element).querySelector("svg")!.getBoundingClientRect();
    const at = e.detail === 0 ? (cross ?? middleOf(view)) : placeAt(view, (e.clientX - box.left) / box.width, (e.clientY - box.top) / box.height);
    setCross(undefined);
    p.touched(at);
  };
  const key = (e: KeyboardEvent) => {
    const by = arrows[e.key];
    if (!by) return;
    e.preventDefault();
    setCross(stepBy(cross ?? p.mark ?? middleOf(view), ...by, turn));
  };
  return (
    <div class="ground">
      <button type="button" aria-label={p.label} onClick={touch} onKeyDown={key}>
        <Sheet of={p.picture} view={view} cross={cross ?? p.mark} outline={p.outline} />
      </button>
      <Street of={p.picture.plan} turn={turn} />
    </div>
  );
}

/** The quarter that the floor of a job is turned to on this phone. */
export function turnOf(job: string): number {
  const turn = Number(localStorage.getItem(`turn ${job}`));
  return [1, 2, 3].includes(turn) ? turn : 0;
}

const middleOf = (view: View) => placeAt(view, 0.5, 0.5);

function Sheet(p: { of: Picture; view: View; cross: Place | undefined; outline: Outline | undefined }) {
  const { view } = p;
  const scale = Math.min(widePx / view.wide, mostHighPx / view.high);
  const at = (place: Place): [number, number] => {
    const [u, v] = turned(place, view.turn);
    return [(u - view.left) * scale, (v - view.top) * scale];
  };
  const shape = (list: Place[]) => list.map((c) => at(c).map((n) => n.toFixed(1)).join(",")).join(" ");
  const [wide, high] = [view.wide * scale, view.high * scale];
  const c = p.cross && at(p.cross);
  return (
    <svg viewBox={`0 0 ${wide.toFixed(1)} ${high.toFixed(1)}`} width={wide} height={high} aria-hidden="true">
      {p.of.plan.rooms?.map((r) => <polygon key={r.name} class={r.wet ? "room wet" : "room"} points={shape(r.outline)} />)}
      {p.of.open_cuts?.map((cut) => <polygon key={cut.name} class="pencil dash" points={shape(cut.outline)} />)}
      <Bearers of={p.of.plan} shape={shape} />
      {p.outline ? <polygon class="cut" points={shape(p.outline)} /> : null}
      <Posts of={p.of} at={at} names={within(p.of, view) <= mostNames} />
      {c ? <path class="cross" d={`M${c[0] - 16},${c[1]}h32M${c[0]},${c[1] - 16}v32`} /> : null}
    </svg>
  );
}

/** Bearers as double lines: a thick one of ink with paper in it. */
function Bearers(p: { of: Plan; shape: (list: Place[]) => string }) {
  const where = new Map((p.of.supports ?? []).map((s) => [s.id, [s.x, s.y] as Place]));
  const lines = (p.of.bearers ?? []).map((b) => p.shape(b.supports.flatMap((id) => where.get(id) ? [where.get(id)!] : [])));
  return <>{["bearer-edge", "bearer-in"].map((k) => lines.map((points, i) => <polyline key={k + i} class={k} points={points} />))}</>;
}

function Posts(p: { of: Picture; at: (place: Place) => [number, number]; names: boolean }) {
  return (
    <>
      {p.of.supports.map((s) => {
        const [x, y] = p.at([s.x, s.y]);
        return (
          <g key={s.id}>
            <rect class="ink fill-paper" x={x - 6} y={y - 6} width={12} height={12} />
            {p.names ? <text class="id" x={x + 9} y={y + 18}>{s.id}</text> : null}
          </g>
        );
      })}
    </>
  );
}

function within(p: Picture, view: View): number {
  return p.supports.filter((s) => {
    const [u, v] = turned([s.x, s.y], view.turn);
    return u >= view.left && u <= view.left + view.wide && v >= view.top && v <= view.top + view.high;
  }).length;
}
