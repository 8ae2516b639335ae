// A crack or gap that is watched: the same one again is its name, its width and Save.
import { useState } from "preact/hooks";
import type { Taken } from "../../shared/kept.ts";
import { showWith } from "../../shared/length.ts";
import type { Gap, Picture } from "../../shared/picture.ts";
import { go } from "../route.ts";
import { lengthOf, nothing, type Typed } from "../typed.ts";
import { Act, Words } from "../ui/act.tsx";
import { useApp } from "../ui/app.tsx";
import { Camera } from "../ui/camera.tsx";
import { Frame } from "../ui/frame.tsx";
import { Entry, Keypad } from "../ui/keypad.tsx";
import { bodyFor, gapOf, type GapSort } from "./bodies.ts";
import { fieldOf } from "./forms.ts";
import { comeBack, type Recording } from "./recording.ts";
import { usualStage } from "./stage.ts";

const sorts = (fieldOf("gap-reading", "what").choices ?? []) as { value: GapSort; label: string }[];

type Figure = "width" | "watch";

interface Said {
  gap: string; // one that is known, or "" for a new one
  what: GapSort;
  near: string;
}

export function GapReading(p: Recording) {
  const app = useApp();
  const known = p.picture.gaps ?? [];
  const asked = p.query.get("gap");
  const back = app.cameBack<Said>();
  const [said, setSaid] = useState<Said>(back ?? { gap: asked ?? (known.length === 1 ? known[0]!.name : ""), what: "crack", near: "" });
  const [typed, setTyped] = useState<Partial<Record<Figure, Typed>>>({});
  const [at, setAt] = useState<Figure>("width");
  const [shots, setShots] = useState<Taken[]>([]);
  const gap = known.find((g) => g.name === said.gap);
  const now = typed[at] ?? nothing(app.ruleUnit);
  const width = typed.width && lengthOf(typed.width);
  const watch = typed.watch && lengthOf(typed.watch);
  const support = p.query.get("support");
  const save = async () => {
    if (!width) return;
    const body = gapOf(p.picture, gap, { what: said.what, near: said.near, width, watch, supports: support ? [support] : [] });
    if (await app.record(p.book.job, "gap-reading", bodyFor("gap-reading", body), shots)) go(comeBack(p), true);
  };
  return (
    <Frame title={gap ? `Measure ${gap.name}` : "A new crack or gap"} back={comeBack(p)} picture={p.picture}>
      {known.length > 0 ? <Words label="Which gap" of={[...known.map((g) => ({ value: g.name, label: g.name })), { value: "", label: "Another" }]} chosen={[said.gap]} choose={(g) => setSaid({ ...said, gap: g })} /> : null}
      {gap ? <Watched of={gap} /> : <NewGap of={p.picture} said={said} say={setSaid} />}
      <div class="run" role="group" aria-label="What is typed">
        {(["width", "watch"] as const).map((f) => <button key={f} type="button" class="act quiet" aria-current={f === at ? "step" : undefined} onClick={() => setAt(f)}>{f === "width" ? "Width" : "Tell somebody past"}<small>{figureOf(typed[f]) ?? (f === "watch" && gap?.watch_limit) ?? ""}</small></button>)}
      </div>
      <Entry of={now} name={at === "width" ? "Width" : "Past"} label={at === "width" ? "Width" : "Tell somebody past"} />
      <Keypad of={now} typed={(t) => setTyped({ ...typed, [at]: t })} done={save}>
        <Act sort="main" disabled={!width} do={save}>Save</Act>
      </Keypad>
      <Camera shots={shots} change={setShots} subject={gap?.name ?? said.near} stage={usualStage(p.picture, "")} typed={said satisfies Said} />
    </Frame>
  );
}

function figureOf(t: Typed | undefined): string | undefined {
  const l = t && lengthOf(t);
  return l ? `${l.value} ${l.unit}` : undefined;
}

/** What is known of it; the width before is said, and never filled in. */
function Watched(p: { of: Gap }) {
  const { unit } = useApp();
  const { of: g } = p;
  const parts = [g.near, `${showWith(g.first_mm, unit)} at first`, g.growth, g.watch_limit ? `watched to ${g.watch_limit}` : ""].filter(Boolean);
  return <p class={g.past_limit ? "danger" : "note"}>{parts.join(", ")}</p>;
}

function NewGap(p: { of: Picture; said: Said; say: (s: Said) => void }) {
  const rooms = (p.of.plan.rooms ?? []).map((r) => ({ value: r.name, label: r.name }));
  return (
    <>
      <Words small label="What" of={sorts} chosen={[p.said.what]} choose={(what) => p.say({ ...p.said, what })} />
      {rooms.length > 0 ? <Words small label="Near" of={rooms} chosen={[p.said.near]} choose={(near) => p.say({ ...p.said, near })} /> : null}
      <label class="field">Near<input maxLength={200} value={p.said.near} onInput={(e) => p.say({ ...p.said, near: e.currentTarget.value })} /></label>
    </>
  );
}
