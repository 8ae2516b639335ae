// Packing: what follows the jack for now, or the packer that stays, cut to the gap
// that was measured.
import { useState } from "preact/hooks";
import type { Taken } from "../../shared/kept.ts";
import { fromMM, plusMinus, show, showWith, toMM, type Length } from "../../shared/length.ts";
import type { Cutting } from "../../shared/picture.ts";
import { address, go } from "../route.ts";
import { lengthOf, nothing } from "../typed.ts";
import { Act, Words } from "../ui/act.tsx";
import { useAnswer, useApp } from "../ui/app.tsx";
import { Camera } from "../ui/camera.tsx";
import { Empty, Frame } from "../ui/frame.tsx";
import { Entry, Keypad } from "../ui/keypad.tsx";
import { bodyFor, type Bodies } from "./bodies.ts";
import { cautionOf } from "./forms.ts";
import { comeBack, supportOf, type Recording } from "./recording.ts";

type Sort = "temporary" | "final";
type Packed = Omit<Bodies["packing"], "support" | "sort">;

const materials = ["hardwood", "treated pine", "steel", "plastic", "fibre cement"] as const;

/** What was said of the packing that stays, before a photo of it was taken. */
interface Staying {
  gap: Length | undefined;
  pieces: Length[];
  material: string | undefined;
}

export function Packing(p: Recording) {
  const app = useApp();
  const s = supportOf(p);
  const [back] = useState(() => app.cameBack<Staying>());
  const [sort, setSort] = useState<Sort>(back || p.query.get("sort") === "final" ? "final" : "temporary");
  if (!s) return <Frame title="Pack" back={address(["job", p.book.job])}><Empty>Choose a {app.words.support} on the floor first.</Empty></Frame>;
  const here = address(["job", p.book.job, "support", s.id]);
  const save = async (packed: Packed, shots: Taken[] = []) => {
    if (await app.record(p.book.job, "packing", bodyFor("packing", { support: s.id, sort, ...packed }), shots)) go(comeBack(p), true);
  };
  return (
    <Frame title={`Pack ${s.id}`} back={here} picture={p.picture}>
      <p class="danger">{cautionOf("packing")?.split(". ")[0]}.</p>
      <Words label="Sort of packing" of={[{ value: "temporary", label: "For now" }, { value: "final", label: `The ${app.words.packer} that stays` }]} chosen={[sort]} choose={setSort} />
      {sort === "temporary" ? <ForNow save={save} /> : <ToStay at={p} support={s.id} back={back} save={save} />}
    </Frame>
  );
}

function ForNow(p: { save: (packed: Packed) => unknown }) {
  const app = useApp();
  const [typed, setTyped] = useState(() => nothing(app.ruleUnit));
  const gap = lengthOf(typed);
  return (
    <>
      <Act sort="main" do={() => p.save({})}>Packed for now</Act>
      <p class="note">or with the gap it fills</p>
      <Entry of={typed} name="gap" label="Gap" />
      <Keypad of={typed} typed={setTyped} done={() => gap && p.save({ gap })}>
        <Act sort="main" disabled={!gap} do={() => p.save({ gap })}>Packed, with this gap</Act>
      </Keypad>
    </>
  );
}

type Aim = "gap" | "piece";

function ToStay(p: { at: Recording; support: string; back: Staying | undefined; save: (packed: Packed, shots: Taken[]) => unknown }) {
  const app = useApp();
  const { ruleUnit: unit } = app;
  const [gap, setGap] = useState(p.back?.gap);
  const [pieces, setPieces] = useState<Length[]>(p.back?.pieces ?? []);
  const [material, setMaterial] = useState(p.back?.material);
  const [shots, setShots] = useState<Taken[]>([]);
  const [typed, setTyped] = useState(() => nothing(unit));
  const [aim, setAim] = useState<Aim>("gap");
  const proposal = useProposal(p.at, p.support);
  const now = lengthOf(typed);
  const take = () => {
    if (!now) return;
    if (aim === "gap") setGap(now);
    else setPieces([...pieces, now]);
    setAim("piece");
    setTyped(nothing(unit));
  };
  const onePiece = () => {
    if (!now) return;
    setGap(now);
    setPieces([now]);
    setAim("piece");
    setTyped(nothing(unit));
  };
  const save = (full: boolean) => p.save({
    gap, pieces: pieces.map((thickness) => ({ thickness, ...(material ? { material } : {}) })), full_width: full || undefined,
  }, shots);
  const thick = pieces.reduce((sum, l) => sum + toMM(l), 0);
  return (
    <>
      {proposal ? <Proposed of={proposal} take={(list) => {
        setPieces(list);
        setAim("piece");
      }} /> : null}
      <div class="run" role="group" aria-label="What is typed">
        <button type="button" class="act quiet" aria-current={aim === "gap" ? "step" : undefined} onClick={() => setAim("gap")}>Gap<small>{gap ? `${gap.value} ${gap.unit}` : "as measured"}</small></button>
        {pieces.map((l, i) => (
          <button key={i} type="button" class="act quiet" aria-label={`Take piece ${i + 1} out, ${l.value} ${l.unit}`} onClick={() => setPieces(pieces.filter((_, j) => j !== i))}>Piece {i + 1}<small>{Number(l.value.toFixed(3))} {l.unit}, out</small></button>
        ))}
        <button type="button" class="act quiet" aria-current={aim === "piece" ? "step" : undefined} onClick={() => setAim("piece")}>Add a piece<small>thickness</small></button>
      </div>
      <Entry of={typed} name={aim === "gap" ? "gap" : "piece"} label={aim === "gap" ? "Gap" : "Thickness of the piece"} />
      <Keypad of={typed} typed={setTyped} done={take}>
        <Act sort={now ? "main" : "quiet"} disabled={!now} do={aim === "gap" && pieces.length === 0 ? onePiece : take}>{aim === "piece" ? "Add the piece" : pieces.length === 0 ? "Gap, and one piece as thick" : "That is the gap"}</Act>
      </Keypad>
      {aim === "gap" && now && pieces.length === 0 ? <Act sort="quiet" do={take}>Only the gap: pieces follow</Act> : null}
      {pieces.length > 0 ? <Act sort="main" do={() => save(true)}>Packed with {showWith(thick, app.unit)}, on the full width</Act> : null}
      {pieces.length > 0 ? <Act do={() => save(false)}>Packed with {showWith(thick, app.unit)}, not on the full width</Act> : null}
      <Camera shots={shots} change={setShots} subject={p.support} stage="during" typed={{ gap, pieces, material } satisfies Staying} />
      <Words small label="Of what" of={materials.map((m) => ({ value: m, label: m }))} chosen={materials.filter((m) => m === material)} choose={(m) => setMaterial(m === material ? undefined : m)} />
    </>
  );
}

function useProposal(p: Recording, support: string): Cutting | undefined {
  const app = useApp();
  const { value } = useAnswer(() => p.book.packers(app.office?.practice ?? {}), [p.book.version]);
  return value?.find((c) => c.support === support);
}

/** What the figures propose; only a touch takes it. */
function Proposed(p: { of: Cutting; take: (pieces: Length[]) => void }) {
  const { unit, ruleUnit } = useApp();
  const { of: c } = p;
  if (c.ask) return <p>{c.ask}.</p>;
  const words = c.cut ? `Cut one of ${show(c.need_mm, unit)}` : c.pieces_mm.map((mm) => show(mm, unit)).join(" + ");
  return (
    <>
      <Act do={() => p.take(c.pieces_mm.map((mm) => ({ value: fromMM(mm, ruleUnit), unit: ruleUnit })))}>{words}</Act>
      <p class="note">Gap {show(c.gap_mm, unit)}{c.measured ? "" : " by the packing that is there"}, {show(c.adjust_mm, unit)} to the target, {show(c.bedding.mm, unit)} {plusMinus(c.bedding.sd_mm, unit)} for bedding in.</p>
      {c.cautions?.map((t) => <p key={t} class="note">{t}</p>)}
    </>
  );
}
