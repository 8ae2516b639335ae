// The floor as a drawing that is touched, or as a list of its supports.
import { useEffect, useLayoutEffect, useRef, useState } from "preact/hooks";
import { signed } from "../shared/length.ts";
import type { Picture, Plan, Support } from "../shared/picture.ts";
import { Pane } from "./pane.ts";
import { say } from "./say.ts";
import { Act } from "./ui/act.tsx";
import { useApp } from "./ui/app.tsx";
import type { Look } from "./zoom.ts";
import "./floor.css";

interface Props {
  svg: string | undefined; // as the worker drew it
  picture: Picture;
  base: string; // the address of the job
  turn: number; // quarters clockwise
  onTurn: (turn: number) => void;
}

export function Floor(p: Props) {
  const [listed, list] = useState(() => localStorage.getItem("floor listed") === "yes");
  const choose = (yes: boolean) => {
    localStorage.setItem("floor listed", yes ? "yes" : "no");
    list(yes);
  };
  return (
    <section class="floor-view" aria-label="The floor">
      {listed ? <Act sort="quiet" do={() => choose(false)}>Drawing</Act> : null}
      {listed ? <Supports of={p.picture} base={p.base} /> : <Drawn {...p} list={() => choose(true)} />}
    </section>
  );
}

function Drawn(p: Props & { list: () => void }) {
  const window = useRef<HTMLDivElement>(null);
  const sheet = useRef<HTMLDivElement>(null);
  const pane = useRef<Pane>(undefined);
  const drawn = useRef(p.turn);
  useEffect(() => () => pane.current?.end(), []);
  useLayoutEffect(() => {
    if (p.svg === undefined) return;
    const key = `look ${p.base}`;
    pane.current ??= new Pane(window.current!, sheet.current!, kept(key), (look) => localStorage.setItem(key, JSON.stringify(look)));
    pane.current.draw(p.svg, (p.turn - drawn.current + 4) % 4, p.picture.rounds?.moves?.[0]?.support);
    drawn.current = p.turn;
  }, [p.svg]);
  return (
    <div class="floor-plan">
      <div class="floor-window" ref={window} tabIndex={0} role="region" aria-label="Plan: drag or arrows to move, plus and minus to zoom">
        <div class="floor-sheet" ref={sheet} />
        {p.svg === undefined ? <p class="note">Drawing it.</p> : null}
      </div>
      <Street of={p.picture.plan} turn={p.turn} />
      <div class="floor-tools" role="group" aria-label="Look at the drawing">
        <Act sort="quiet" label="Closer" do={() => pane.current?.closer()}>+</Act>
        <Act sort="quiet" label="Further away" do={() => pane.current?.further()}>−</Act>
        <Act sort="quiet" do={() => pane.current?.all()}>All</Act>
        <Act sort="quiet" label="Turn a quarter" do={() => p.onTurn((p.turn + 1) % 4)}>↻</Act>
        <Act sort="quiet" do={p.list}>List</Act>
      </div>
    </div>
  );
}

/** The look of the last time; what is stored may be anything. */
function kept(key: string): Look | undefined {
  try {
    const look = JSON.parse(localStorage.getItem(key) ?? "null") as Partial<Look> | null;
    return look && [look.scale, look.x, look.y].every(Number.isFinite) ? (look as Look) : undefined;
  } catch {
    return undefined;
  }
}

const sides = ["top", "right", "bottom", "left"] as const;

/** Where the street is, however far one has zoomed in. */
export function Street(p: { of: Plan; turn: number }) {
  if (!p.of.street) return null;
  const side = (sides.indexOf(p.of.street) + p.turn) % 4;
  return (
    <p class="floor-street" aria-label={`The street is at the ${sides[side]}`}>
      street this way <span style={{ transform: `rotate(${side * 90}deg)` }} aria-hidden="true">↑</span>
    </p>
  );
}

/** Every support in words, as the drawing has it. */
function Supports(p: { of: Picture; base: string }) {
  return (
    <ul class="rows floor-list">
      {p.of.supports.map((s) => <Row key={s.id} of={s} to={`${p.base}/support/${encodeURIComponent(s.id)}`} />)}
    </ul>
  );
}

function Row(p: { of: Support; to: string }) {
  const { unit } = useApp();
  const { of: s } = p;
  const state = s.stopped && s.state !== "stopped" ? `${say(s.state)}, stopped` : say(s.state);
  const pencil = s.basis === "expected";
  return (
    <li>
      <a href={p.to} data-support={s.id}>
        <b>{s.id}</b>
        <small class={s.stopped || s.out ? "danger" : ""}>{state}{s.to_go ? `, ${s.to_go}` : ""}{pencil ? " (expected, not read)" : ""}</small>
        {s.doubt ? <small>In doubt: {s.doubt}</small> : null}
        {s.next ? <small class="next">{s.next}</small> : null}
        {s.remaining ? <span class={pencil ? "fig pencil" : "fig"}>{signed(s.remaining.mm, unit)}</span> : null}
      </a>
    </li>
  );
}
