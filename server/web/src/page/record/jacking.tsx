// Jacking at one support: how far it moved, by rule, dial or turns; and of the jack where
// it stood and what its gauge showed.
import { useState } from "preact/hooks";
import type { Taken } from "../../shared/kept.ts";
import { show, signed, type Length } from "../../shared/length.ts";
import { address, go } from "../route.ts";
import { lengthOf, nothing, type Typed } from "../typed.ts";
import { Act, Words } from "../ui/act.tsx";
import { useApp } from "../ui/app.tsx";
import { Camera } from "../ui/camera.tsx";
import { Empty, Frame } from "../ui/frame.tsx";
import { Entry, Keypad } from "../ui/keypad.tsx";
import { sentence } from "../words.ts";
import { bodyFor, type Move } from "./bodies.ts";
import { cautionOf } from "./forms.ts";
import { Jack, gauges, jackOf } from "./jack.tsx";
import { supportOf, type Recording } from "./recording.ts";

/** As somebody sees it who looks from the street. */
const besides = ["street side", "far side", "left of it", "right of it"] as const;

type Figure = "by" | "gauge";

interface Said {
  typed: Record<Figure, Typed>;
  jack: string;
  beside: string;
}

export function Jacking(p: Recording) {
  const app = useApp();
  const s = supportOf(p);
  const [back] = useState(() => app.cameBack<Said>());
  const [typed, setTyped] = useState(back?.typed ?? { by: nothing(app.ruleUnit), gauge: nothing("m") }); // decimals of a gauge follow a point
  const [at, setAt] = useState<Figure>("by");
  const [jack, setJack] = useState(back?.jack ?? "");
  const [beside, setBeside] = useState(back?.beside ?? "");
  const [more, showMore] = useState(back !== undefined);
  const [shots, setShots] = useState<Taken[]>([]);
  if (!s) return <Frame title="Jack" back={address(["job", p.book.job])}><Empty>Choose a {app.words.support} on the floor first.</Empty></Frame>;
  const by = lengthOf(typed.by);
  const pressure = lengthOf(typed.gauge)?.value;
  const gauged = more || app.office?.jacks.find((j) => j.name === jack)?.gauge === true;
  const here = address(["job", p.book.job, "support", s.id]);
  const save = async (by: Length) => {
    const move: Move = { support: s.id, by, gauge: app.settings.gauge, ...jackOf(app.office, jack), ...(pressure ? { pressure_mpa: pressure } : {}), ...(beside ? { beside } : {}) };
    if (await app.record(p.book.job, "jacking", bodyFor("jacking", { moves: [move] }), shots)) go(here, true);
  };
  return (
    <Frame title={`Jack ${s.id}`} back={here} picture={p.picture}>
      <p>{sentence(s.to_go)}{s.stop_figure ? <> Stop at <b>{show(s.stop_figure.staff_mm, app.unit)}</b> on the {app.words.staff}, {signed(s.stop_figure.by_mm, app.unit)} from now.</> : null}</p>
      <Words small label="Measured with" of={gauges} chosen={[app.settings.gauge]} choose={(gauge) => void app.set({ gauge })} />
      {gauged ? <Figures of={typed} at={at} choose={setAt} /> : null}
      <Entry of={typed[at]} name={at === "by" ? "moved by" : "gauge, MPa"} label={at === "by" ? "It moved by" : "Its gauge shows, MPa"} plain={at === "gauge"} />
      <Keypad of={typed[at]} typed={(t) => setTyped({ ...typed, [at]: t })} sign={at === "by"} plain={at === "gauge"} done={() => by && save(by)}>
        <Act sort="main" disabled={!by} do={() => save(by!)}>It moved so far</Act>
      </Keypad>
      <Jack chosen={jack} choose={setJack} />
      <Act sort="quiet" on={more} do={() => showMore(!more)}>Where the jack stands, its gauge, a photo</Act>
      {more ? <Words small label="Where the jack stands" of={besides.map((b) => ({ value: b as string, label: b }))} chosen={[beside]} choose={(b) => setBeside(b === beside ? "" : b)} /> : null}
      {more ? <Camera shots={shots} change={setShots} subject={s.id} stage="during" typed={{ typed, jack, beside } satisfies Said} /> : null}
      <p class="note">{cautionOf("jacking")}</p>
    </Frame>
  );
}

/** Which figure the keypad types. */
function Figures(p: { of: Record<Figure, Typed>; at: Figure; choose: (f: Figure) => void }) {
  return (
    <div class="run" role="group" aria-label="What is typed">
      {(["by", "gauge"] as const).map((f) => {
        const said = lengthOf(p.of[f]);
        return (
          <button key={f} type="button" class="act quiet" aria-current={f === p.at ? "step" : undefined} onClick={() => p.choose(f)}>
            {f === "by" ? "Moved by" : "Its gauge"}
            <small>{said ? `${said.value} ${f === "by" ? said.unit : "MPa"}` : "not typed"}</small>
          </button>
        );
      })}
    </div>
  );
}
