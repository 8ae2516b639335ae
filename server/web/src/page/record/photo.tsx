// Photos by themselves: of what, and when in the work. A photo "after" is taken from
// where the one "before" was.
import { useState } from "preact/hooks";
import type { Stage } from "../../shared/event.ts";
import type { Taken } from "../../shared/kept.ts";
import type { Picture } from "../../shared/picture.ts";
import { go } from "../route.ts";
import { say } from "../say.ts";
import { Act, Words } from "../ui/act.tsx";
import { useApp } from "../ui/app.tsx";
import { Camera } from "../ui/camera.tsx";
import { Finder } from "../ui/finder.tsx";
import { Frame } from "../ui/frame.tsx";
import { bodyFor } from "./bodies.ts";
import { comeBack, type Recording } from "./recording.ts";
import { usualStage } from "./stage.ts";

const stages: { value: Stage; label: string }[] = [{ value: "before", label: "Before" }, { value: "during", label: "During" }, { value: "after", label: "After" }];

interface Typed {
  subject: string;
  stage: Stage;
}

export function Photo(p: Recording) {
  const app = useApp();
  const back = app.cameBack<Typed>();
  const [subject, setSubject] = useState(back?.subject ?? p.query.get("support") ?? p.query.get("room") ?? p.query.get("cut") ?? "");
  const [stage, setStage] = useState<Stage>(back?.stage ?? usualStage(p.picture, subject));
  const [shots, setShots] = useState<Taken[]>([]);
  const [finding, find] = useState(false);
  const supports = p.picture.supports.some((s) => s.id === subject) ? [subject] : [];
  const typed: Typed = { subject, stage };
  const named = shots.map((s) => ({ ...s, stage, ...(subject ? { subject } : {}) }));
  const save = async () => {
    if (await app.record(p.book.job, "note", bodyFor("note", { supports }), named)) go(comeBack(p), true);
  };
  if (finding) {
    return <Finder job={p.book.job} subject={subject} done={(shot) => {
      find(false);
      if (!shot) return;
      setShots([...shots, shot]);
      void app.intent.took(typed, [...shots, shot]);
    }} />;
  }
  return (
    <Frame title={subject ? `Photo of ${subject}` : "Photo"} back={comeBack(p)} picture={p.picture}>
      <Words small label="Of what" of={subjectsOf(p.picture, subject).map((s) => ({ value: s, label: s }))} chosen={[subject]} choose={(s) => {
        setSubject(s === subject ? "" : s);
        setStage(usualStage(p.picture, s));
      }} />
      <Words short label="When in the work" of={stages} chosen={[stage]} choose={setStage} />
      <Camera shots={shots} change={setShots} subject={subject} stage={stage} typed={typed} />
      {shots.length > 1 ? <p class="note">All of these are saved as of {subject || "nothing in particular"}, {stage}.</p> : null}
      {stage === "after" && subject ? <Act do={() => find(true)}>With the one before it, to stand in the same place</Act> : null}
      <Act sort="main" disabled={shots.length === 0} do={save}>{shots.length > 1 ? `Save ${shots.length} photos` : "Save the photo"}</Act>
    </Frame>
  );
}

/** Rooms, cuts and the outside, and the support it was opened for. */
function subjectsOf(p: Picture, subject: string): string[] {
  const cuts = (p.lists.cuts ?? []).map((c) => c.name ?? "").filter(Boolean);
  const rooms = (p.plan.rooms ?? []).map((r) => r.name);
  return [...new Set([...(subject ? [subject] : []), ...rooms, ...cuts, "outside", say("under the floor")])];
}
