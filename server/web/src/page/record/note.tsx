// A note: words, or a sound of up to a minute for what is too long to type under a
// floor.
import { useEffect, useRef, useState } from "preact/hooks";
import type { Taken } from "../../shared/kept.ts";
import { go } from "../route.ts";
import { Act, Words } from "../ui/act.tsx";
import { useApp } from "../ui/app.tsx";
import { Camera, nowHere } from "../ui/camera.tsx";
import { Frame } from "../ui/frame.tsx";
import { bodyFor } from "./bodies.ts";
import { comeBack, supportOf, type Recording } from "./recording.ts";

/** Of those who looked into what speaks for a stop. */
const looked = ["nothing is wrong", "it was misread", "as expected: we go on", "the office decides"] as const;

const mostSeconds = 60;
const mostBytes = 1 << 20; // of a sound, by the server

export function Note(p: Recording) {
  const app = useApp();
  const s = supportOf(p);
  const answers = p.query.get("answers");
  const back = app.cameBack<{ text: string }>();
  const [text, setText] = useState(back?.text ?? "");
  const [sound, setSound] = useState<Taken>();
  const [shots, setShots] = useState<Taken[]>([]);
  const save = async () => {
    const body = bodyFor("note", { text, supports: s ? [s.id] : [], answers: answers ?? undefined });
    if (await app.record(p.book.job, "note", body, [...(sound ? [sound] : []), ...shots])) go(comeBack(p), true);
  };
  return (
    <Frame title={s ? `Note at ${s.id}` : "Note"} back={comeBack(p)} picture={p.picture}>
      {answers ? <Words small label="What was seen" of={looked.map((w) => ({ value: w as string, label: w }))} chosen={[text]} choose={setText} /> : null}
      <Sound sound={sound} change={setSound} subject={s?.id} />
      <label class="field">Words<textarea rows={4} maxLength={2000} value={text} onInput={(e) => setText(e.currentTarget.value)} /></label>
      <Camera shots={shots} change={setShots} subject={s?.id} typed={{ text }} />
      <Act sort="main" disabled={!text.trim() && !sound && shots.length === 0} do={save}>Save the note</Act>
    </Frame>
  );
}

/** Records what is said, counts down, and lets it be heard before it is kept. */
function Sound(p: { sound: Taken | undefined; change: (s: Taken | undefined) => void; subject: string | undefined }) {
  const [left, setLeft] = useState<number>();
  const [wrong, setWrong] = useState("");
  const recorder = useRef<MediaRecorder>(undefined);
  useEffect(() => () => recorder.current?.state === "recording" && recorder.current.stop(), []);
  useEffect(() => {
    if (left === undefined) return;
    if (left === 0) return recorder.current?.stop();
    const tick = setTimeout(() => setLeft(left - 1), 1000);
    return () => clearTimeout(tick);
  }, [left]);
  const begin = async () => {
    setWrong("");
    try {
      recorder.current = await listen((data, media) => {
        setLeft(undefined);
        if (data.byteLength > mostBytes) setWrong("That is too long to keep: say it in two notes.");
        else p.change({ type: "sound", media, original: data, taken_at: nowHere(), ...(p.subject ? { subject: p.subject } : {}) });
      });
      setLeft(mostSeconds);
    } catch {
      setWrong("The microphone is not allowed here. Allow it for this app in the phone’s settings, or type.");
    }
  };
  if (left !== undefined) return <Act sort="main" do={() => recorder.current?.stop()}>Stop. {left} s left</Act>;
  return (
    <>
      {p.sound ? <Heard of={p.sound} /> : null}
      <div class="acts">
        <Act sort={p.sound ? "quiet" : "main"} do={begin}>{p.sound ? "Say it again" : "Say it"}</Act>
        {p.sound ? <Act sort="quiet" do={() => p.change(undefined)}>Out</Act> : null}
      </div>
      {wrong ? <p class="danger" role="alert">{wrong}</p> : null}
    </>
  );
}

function Heard(p: { of: Taken }) {
  const [address, set] = useState("");
  useEffect(() => {
    const made = URL.createObjectURL(new Blob([p.of.original], { type: p.of.media }));
    set(made);
    return () => URL.revokeObjectURL(made);
  }, [p.of]);
  return <audio controls src={address} />;
}

/** What the server takes; the first that this browser can make. */
const kinds = ["audio/webm;codecs=opus", "audio/mp4"];

async function listen(done: (data: ArrayBuffer, media: string) => void): Promise<MediaRecorder> {
  const stream = await navigator.mediaDevices.getUserMedia({ audio: true });
  const kind = kinds.find((k) => MediaRecorder.isTypeSupported(k));
  const recorder = new MediaRecorder(stream, { ...(kind ? { mimeType: kind } : {}), audioBitsPerSecond: 32_000 });
  const parts: Blob[] = [];
  recorder.ondataavailable = (e) => parts.push(e.data);
  recorder.onstop = async () => {
    for (const t of stream.getTracks()) t.stop();
    done(await new Blob(parts).arrayBuffer(), recorder.mimeType.split(";")[0] ?? "audio/webm");
  };
  recorder.start();
  return recorder;
}
