// A note: words, or a sound of up to a minute for what is too long to type under a
// floor.
import { useState } from "preact/hooks";
import type { Taken } from "../../shared/kept.ts";
import { go } from "../route.ts";
import { Act, Words } from "../ui/act.tsx";
import { useApp } from "../ui/app.tsx";
import { Camera } from "../ui/camera.tsx";
import { Frame } from "../ui/frame.tsx";
import { Sound } from "../ui/sound.tsx";
import { bodyFor } from "./bodies.ts";
import { comeBack, supportOf, type Recording } from "./recording.ts";
import { usualStage } from "./stage.ts";

/** Of those who looked into what speaks for a stop. */
const looked = ["nothing is wrong", "it was misread", "as expected: we go on", "the office decides"] as const;

interface Typed {
  text: string;
  sound: Taken | undefined;
}

export function Note(p: Recording) {
  const app = useApp();
  const s = supportOf(p);
  const answers = p.query.get("answers");
  const back = app.cameBack<Typed>();
  const [text, setText] = useState(back?.text ?? "");
  const [sound, setSound] = useState<Taken | undefined>(back?.sound);
  const [listening, setListening] = useState(false);
  const [shots, setShots] = useState<Taken[]>([]);
  const save = async () => {
    const body = bodyFor("note", { text, supports: s ? [s.id] : [], answers: answers ?? undefined });
    if (await app.record(p.book.job, "note", body, [...(sound ? [sound] : []), ...shots])) go(comeBack(p), true);
  };
  return (
    <Frame title={s ? `Note at ${s.id}` : "Note"} back={comeBack(p)} picture={p.picture}>
      {answers ? <Words small label="What was seen" of={looked.map((w) => ({ value: w as string, label: w }))} chosen={[text]} choose={setText} /> : null}
      <Sound sound={sound} change={setSound} subject={s?.id} busy={setListening} />
      <label class="field">Words<textarea rows={4} maxLength={2000} value={text} onInput={(e) => setText(e.currentTarget.value)} /></label>
      <Camera shots={shots} change={setShots} subject={s?.id} stage={usualStage(p.picture, s?.id ?? "")} typed={{ text, sound } satisfies Typed} />
      <Act sort="main" disabled={listening || (!text.trim() && !sound && shots.length === 0)} do={save}>{listening ? "Stop the sound first" : "Save the note"}</Act>
    </Frame>
  );
}
