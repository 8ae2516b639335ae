// Where something was cut, on the plan: two opposite corners are touched, and its sides
// are typed where they were measured.
import { useState } from "preact/hooks";
import { showWith, toMM } from "../../shared/length.ts";
import type { Picture } from "../../shared/picture.ts";
import { lengthOf, nothing, type Typed } from "../typed.ts";
import { Act } from "../ui/act.tsx";
import { useApp } from "../ui/app.tsx";
import { Ground, turnOf } from "../ui/ground.tsx";
import { Entry, Keypad } from "../ui/keypad.tsx";
import { between, sidesOf, sized, type Outline, type Place } from "./ground.ts";

const sides = ["across", "down"] as const;

interface Props {
  label: string;
  picture: Picture;
  room: string;
  value: Outline | undefined;
  fill: (o: Outline | undefined) => void;
}

export function OutlineInput(p: Props) {
  const { unit } = useApp();
  const [open, setOpen] = useState(p.value !== undefined);
  const [corner, setCorner] = useState<Place>();
  const turn = turnOf(p.picture.job);
  const said = p.value && sidesOf(p.value, turn).map((m) => showWith(m * 1000, unit)).join(" × ");
  if (!open) return <Act do={() => setOpen(true)}>{p.label}: {said ?? "not shown"}</Act>;
  const touched = (at: Place) => {
    const whole = corner && corner[0] !== at[0] && corner[1] !== at[1];
    setCorner(whole ? undefined : at);
    p.fill(whole ? between(corner, at) : undefined);
  };
  return (
    <>
      <h2>{p.label}</h2>
      <p class="note" role="status">{said ? `${said}. Touch a corner to begin anew.` : corner ? "Touch the corner opposite." : "Touch one corner of it."}</p>
      <Ground picture={p.picture} room={p.room} mark={corner} outline={p.value} touched={touched} label="The plan: touch two opposite corners; arrows move the mark, Enter sets it" />
      {p.value ? <Sides of={p.value} turn={turn} fill={p.fill} /> : null}
    </>
  );
}

/** The sides as they were measured, on the keypad. */
function Sides(p: { of: Outline; turn: number; fill: (o: Outline) => void }) {
  const { ruleUnit, unit } = useApp();
  const [at, setAt] = useState<0 | 1>();
  const [typed, setTyped] = useState<Typed>(() => nothing(ruleUnit));
  const long = sidesOf(p.of, p.turn);
  const choose = (side: 0 | 1) => {
    setAt(side);
    setTyped(nothing(ruleUnit));
  };
  const type = (t: Typed) => {
    setTyped(t);
    const said = lengthOf(t);
    if (at !== undefined && said && said.value > 0) p.fill(sized(p.of, (at === 0 ? [toMM(said) / 1000, long[1]] : [long[0], toMM(said) / 1000]), p.turn));
  };
  return (
    <>
      <div class="run" role="group" aria-label="Its sides">
        {([0, 1] as const).map((side) => (
          <button key={side} type="button" class="act quiet" aria-current={at === side ? "step" : undefined} onClick={() => choose(side)}>
            {sides[side]}
            <small>{showWith(long[side]! * 1000, unit)}</small>
          </button>
        ))}
      </div>
      {at === undefined ? null : (
        <>
          <Entry of={typed} name={sides[at]} label={`Measured ${sides[at]}`} />
          <Keypad of={typed} typed={type} done={() => setAt(undefined)}><Act do={() => setAt(undefined)}>That is it</Act></Keypad>
        </>
      )}
    </>
  );
}
