// The next move of the round: what each post is to do, what it did, and the packing
// that follows.
import { useState } from "preact/hooks";
import { fromMM, show, signed, type Length } from "../../shared/length.ts";
import type { Move, Picture } from "../../shared/picture.ts";
import { bodyFor } from "../record/bodies.ts";
import { cautionOf } from "../record/forms.ts";
import { Jack, gauges, jackOf } from "../record/jack.tsx";
import type { Recording } from "../record/recording.ts";
import { address, go } from "../route.ts";
import { lengthOf, nothing, type Typed } from "../typed.ts";
import { Act, Way, Words } from "../ui/act.tsx";
import { useApp } from "../ui/app.tsx";
import { Empty, Frame } from "../ui/frame.tsx";
import { Entry, Keypad } from "../ui/keypad.tsx";

export function MoveScreen(p: Recording) {
  const [moved, setMoved] = useState<string[]>();
  const floor = address(["job", p.book.job]);
  if (moved) return <PackAfter {...p} supports={moved} />;
  const { rounds } = p.picture;
  const moves = nextBatch(p.picture);
  if (moves.length === 0) {
    return (
      <Frame title="Next move" back={floor} picture={p.picture}>
        <Empty way={{ to: floor, label: "To the floor" }}>{rounds?.ask?.length ? `Before moves can be planned the firm sets ${rounds.ask.join(", ")}.` : "No move is planned now."}</Empty>
        <ul class="rows">{rounds?.waits?.map((w) => <li key={w.support}><p>{w.why}</p></li>)}</ul>
      </Frame>
    );
  }
  return <OneMove {...p} moves={moves} moved={setMoved} />;
}

function nextBatch(p: Picture): Move[] {
  const moves = p.rounds?.moves ?? [];
  return moves.filter((m) => m.batch === moves[0]?.batch);
}

function OneMove(p: Recording & { moves: Move[]; moved: (supports: string[]) => void }) {
  const app = useApp();
  const unit = app.ruleUnit;
  const [typed, setTyped] = useState<Record<string, Typed>>({});
  const [at, setAt] = useState(p.moves[0]!.support);
  const [jack, setJack] = useState("");
  const now = typed[at] ?? nothing(unit);
  const did = p.moves.flatMap((m) => {
    const by = typed[m.support] && lengthOf(typed[m.support]!);
    return by ? [{ support: m.support, by }] : [];
  });
  const save = async (moves: { support: string; by: Length }[]) => {
    const body = bodyFor("jacking", { moves: moves.map((m) => ({ ...m, gauge: app.settings.gauge, ...jackOf(app.office, jack) })) });
    if (await app.record(p.book.job, "jacking", body)) p.moved(moves.map((m) => m.support));
  };
  const asSaid = () => save(p.moves.map((m) => ({ support: m.support, by: { value: fromMM(m.by_mm, unit), unit } })));
  return (
    <Frame title="Next move" back={address(["job", p.book.job])} picture={p.picture}>
      {p.moves.some((m) => !m.today) ? <p class="danger">What was agreed for a day is used up at some of these.</p> : null}
      <ul class="rows">{p.moves.map((m) => <Row key={m.support} of={m} did={did.find((d) => d.support === m.support)?.by} at={at === m.support} choose={() => setAt(m.support)} />)}</ul>
      <Words small label="Measured with" of={gauges} chosen={[app.settings.gauge]} choose={(gauge) => void app.set({ gauge })} />
      <Act do={asSaid}>All moved as said, by the {app.settings.gauge}</Act>
      <Entry of={now} name={at} label={`${at} moved by`} />
      <Keypad of={now} typed={(t) => setTyped({ ...typed, [at]: t })} sign done={() => did.length > 0 && save(did)}>
        <Act sort="main" disabled={did.length === 0} do={() => save(did)}>Save {did.length || ""} as typed</Act>
      </Keypad>
      <Jack chosen={jack} choose={setJack} />
    </Frame>
  );
}

function Row(p: { of: Move; did: Length | undefined; at: boolean; choose: () => void }) {
  const app = useApp();
  const { of: m } = p;
  const unit = app.unit;
  return (
    <li>
      <button type="button" aria-current={p.at ? "step" : undefined} onClick={p.choose}>
        <b>{m.support}{m.read_first ? `: ${m.read_first}` : ""}</b>
        <small>{m.stop_figure ? `stop at ${show(m.stop_figure.staff_mm, unit)} on the ${app.words.staff}` : "no laser is set up"}{(m.over_mm ?? 0) >= 0.5 ? `, ${show(m.over_mm!, unit)} of it for bedding in` : ""}{p.did ? `; did ${p.did.value} ${p.did.unit}` : ""}</small>
        <span class="fig">{signed(m.by_mm, unit)}</span>
      </button>
    </li>
  );
}

/** Temporary packing follows the jack, under all that moved, in one touch. */
function PackAfter(p: Recording & { supports: string[] }) {
  const app = useApp();
  const floor = address(["job", p.book.job]);
  const [left, setLeft] = useState(p.supports);
  const pack = async (list: string[]) => {
    for (const support of list) {
      if (!(await app.record(p.book.job, "packing", bodyFor("packing", { support, sort: "temporary" })))) return;
      setLeft((l) => l.filter((id) => id !== support));
    }
    if (list.length === left.length) go(floor, true);
  };
  return (
    <Frame title="Follow with packing" back={floor} picture={p.picture}>
      <p class="danger">{cautionOf("packing")?.split(". ")[0]}.</p>
      <Act sort="main" do={() => pack(left)}>Packed for now under all {left.length}</Act>
      <div class="acts">{left.map((id) => <Act key={id} do={() => pack([id])}>only {id}</Act>)}</div>
      <Way sort="quiet" to={floor}>Not yet</Way>
    </Frame>
  );
}
