// A floor as small as a thumb: what is signed is inked, what is left stays open.
import type { Picture } from "../../shared/picture.ts";
import { turned, viewOf, type Place } from "../record/ground.ts";
import { turnOf } from "./ground.tsx";
import "./smallplan.css";

const edgePx = 5; // for the posts at its edge

export function SmallPlan(p: { of: Picture; wide: number; high: number }) {
  const view = viewOf(p.of.plan, "", turnOf(p.of.job));
  const scale = Math.min((p.wide - 2 * edgePx) / view.wide, (p.high - 2 * edgePx) / view.high);
  const at = (x: number, y: number): Place => {
    const [u, v] = turned([x, y], view.turn);
    return [edgePx + (u - view.left) * scale, edgePx + (v - view.top) * scale];
  };
  const where = new Map(p.of.supports.map((s) => [s.id, at(s.x, s.y)]));
  const [wide, high] = [view.wide * scale + 2 * edgePx, view.high * scale + 2 * edgePx];
  const post = Math.min(3.5, Math.max(1.5, scale / 6));
  return (
    <svg class="smallplan" viewBox={`0 0 ${wide.toFixed(1)} ${high.toFixed(1)}`} width={wide} height={high} aria-hidden="true">
      {(p.of.plan.bearers ?? []).map((b) => <polyline key={b.id} class="pencil" points={b.supports.flatMap((id) => where.get(id)?.join() ?? []).join(" ")} />)}
      {p.of.supports.filter((s) => !s.none_here && !s.left_out).map((s) => {
        const [x, y] = where.get(s.id)!;
        return (
          <g key={s.id}>
            <rect class={s.state === "signed" ? "solid" : "open"} x={x - post} y={y - post} width={2 * post} height={2 * post} />
            {s.stopped ? <path class="struck" d={`M${x - 2 * post},${y + 2 * post}L${x + 2 * post},${y - 2 * post}`} /> : null}
          </g>
        );
      })}
    </svg>
  );
}
