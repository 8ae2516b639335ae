// Work on a support itself: fixing it, or a step of replacing it.
import { useState } from "preact/hooks";
import type { Taken } from "../../shared/kept.ts";
import { address, go } from "../route.ts";
import { say } from "../say.ts";
import { Act, Hold, Words } from "../ui/act.tsx";
import { useApp } from "../ui/app.tsx";
import { Camera } from "../ui/camera.tsx";
import { Empty, Frame } from "../ui/frame.tsx";
import { bodyFor, type Bodies, type Step } from "./bodies.ts";
import { cautionOf } from "./forms.ts";
import { comeBack, supportOf, type Recording } from "./recording.ts";
import { working } from "../office";

const steps: { value: Step; label: string }[] = [
  { value: "fixed", label: "Fixed" }, { value: "old-packing-out", label: "Old packing out" }, { value: "taken-out", label: "Taken out" }, { value: "dug", label: "Dug" },
  { value: "seen-by-inspector", label: "Seen by the inspector" }, { value: "poured", label: "Poured" }, { value: "carries-from", label: "Carries from" },
  { value: "set", label: "Set" }, { value: "capped", label: "Capped" },
];

const ways = ["strap", "bolts", "nails", "wire", "skew screws"] as const;

type Done = Omit<Bodies["support-work"], "support" | "step">;

export function SupportWork(p: Recording) {
  const app = useApp();
  const s = supportOf(p);
  const [back] = useState(() => app.cameBack<Step>());
  const [step, setStep] = useState<Step | undefined>(back ?? steps.find((x) => x.value === p.query.get("step"))?.value);
  const [shots, setShots] = useState<Taken[]>([]);
  if (!s) return <Frame title="Work on it" back={address(["job", p.book.job])}><Empty>Choose a {app.words.support} on the floor first.</Empty></Frame>;
  const here = address(["job", p.book.job, "support", s.id]);
  const save = async (said: Done) => {
    if (step && (await app.record(p.book.job, "support-work", bodyFor("support-work", { support: s.id, step, ...said }), shots))) go(comeBack(p), true);
  };
  return (
    <Frame title={`Work on ${s.id}`} back={here} picture={p.picture}>
      <Words label="What was done" of={steps.map((x) => ({ ...x, label: say(x.label) }))} chosen={step ? [step] : []} choose={setStep} />
      {step === "fixed" ? <div class="words" role="group" aria-label="How">{ways.map((how) => <Act key={how} do={() => save({ how })}>by {how}</Act>)}</div> : null}
      {step === "carries-from" ? <Carries save={save} /> : null}
      {step === "taken-out" ? <Hold sort="main" do={() => save({})}>Taken out</Hold> : null}
      {step && step !== "fixed" && step !== "carries-from" && step !== "taken-out" ? <Act sort="main" do={() => save({})}>Save</Act> : null}
      <Camera shots={shots} change={setShots} subject={s.id} stage={step === "fixed" ? "after" : "during"} typed={step} />
      <p class="note">{cautionOf("support-work")}</p>
    </Frame>
  );
}

/** There is no usual time for a pad to carry: somebody says from when. */
function Carries(p: { save: (said: Done) => unknown }) {
  const app = useApp();
  const [from, setFrom] = useState("");
  return (
    <>
      <p class="note">No time is assumed: whoever answers for the pad says from when it carries.</p>
      <label class="field">
        From
        <input type="date" value={from} onInput={(e) => setFrom(e.currentTarget.value)} />
      </label>
      <div class="words" role="group" aria-label="Who says so">
        {working(app.office).map((who) => <Act key={who.id} disabled={!from} do={() => p.save({ from, set_by: who.id })}>{who.name} says so</Act>)}
      </div>
    </>
  );
}
