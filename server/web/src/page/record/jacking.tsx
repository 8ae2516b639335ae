// Jacking at one support: how far it moved, by rule, dial or turns.
import { useState } from "preact/hooks";
import { show, signed, type Length } from "../../shared/length.ts";
import { address, go } from "../route.ts";
import { lengthOf, nothing } from "../typed.ts";
import { Act, Words } from "../ui/act.tsx";
import { useApp } from "../ui/app.tsx";
import { Empty, Frame } from "../ui/frame.tsx";
import { Entry, Keypad } from "../ui/keypad.tsx";
import { bodyFor } from "./bodies.ts";
import { cautionOf } from "./forms.ts";
import { Jack, gauges, jackOf } from "./jack.tsx";
import { supportOf, type Recording } from "./recording.ts";

export function Jacking(p: Recording) {
  const app = useApp();
  const s = supportOf(p);
  const [typed, setTyped] = useState(() => nothing(app.ruleUnit));
  const [jack, setJack] = useState("");
  if (!s) return <Frame title="Jack" back={address(["job", p.book.job])}><Empty>Choose a {app.words.support} on the floor first.</Empty></Frame>;
  const by = lengthOf(typed);
  const here = address(["job", p.book.job, "support", s.id]);
  const save = async (by: Length) => {
    const move = { support: s.id, by, gauge: app.settings.gauge, ...jackOf(app.office, jack) };
    if (await app.record(p.book.job, "jacking", bodyFor("jacking", { moves: [move] }))) go(here, true);
  };
  return (
    <Frame title={`Jack ${s.id}`} back={here} picture={p.picture}>
      <p>{s.to_go}.{s.stop_figure ? <> Stop at <b>{show(s.stop_figure.staff_mm, app.unit)}</b> on the {app.words.staff}, {signed(s.stop_figure.by_mm, app.unit)} from now.</> : null}</p>
      <Words small label="Measured with" of={gauges} chosen={[app.settings.gauge]} choose={(gauge) => void app.set({ gauge })} />
      <Entry of={typed} name="moved by" label="It moved by" />
      <Keypad of={typed} typed={setTyped} sign done={() => by && save(by)}>
        <Act sort="main" disabled={!by} do={() => save(by!)}>It moved so far</Act>
      </Keypad>
      <Jack chosen={jack} choose={setJack} />
      <p class="note">{cautionOf("jacking")}</p>
    </Frame>
  );
}
