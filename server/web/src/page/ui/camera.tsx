// Photos for whatever is being recorded. Their bytes are copied the moment they
// come: a file of the camera may be gone when it is looked at later.
import { useEffect, useId, useMemo, useRef, useState } from "preact/hooks";
import { stamp } from "../../shared/event.ts";
import type { Stage } from "../../shared/event.ts";
import type { Taken } from "../../shared/kept.ts";
import { useApp } from "./app.tsx";
import { Act } from "./act.tsx";
import "./camera.css";

interface Props {
  shots: Taken[];
  change: (shots: Taken[]) => void;
  subject?: string | undefined;
  stage?: Stage | undefined;
  typed?: unknown; // what is on the screen, to come back to where the camera ends the app
}

// Where nothing else is accepted, phones convert what their camera makes.
const kinds = "image/jpeg,image/png,image/webp";

export function Camera(p: Props) {
  const app = useApp();
  const [wrong, setWrong] = useState("");
  const [reading, setReading] = useState(false);
  const shots = useRef(p.shots); // the latest: others may come while some are read
  shots.current = p.shots;
  const change = (now: Taken[]) => {
    shots.current = now;
    p.change(now);
    void app.intent.took(p.typed, now);
  };
  useEffect(() => {
    const left = app.intent.takeShots();
    if (left.length > 0) p.change([...left, ...shots.current]);
  }, []);
  const takeIn = async (input: HTMLInputElement) => {
    const files = [...(input.files ?? [])];
    setReading(true);
    const { taken, failed } = await copiesOf(files, p.subject, p.stage);
    input.value = "";
    setReading(false);
    setWrong(failed.length > 0 ? `${failed.join(", ")} could not be read: take it again. Nothing else is lost.` : "");
    change([...shots.current, ...taken]);
  };
  const opens = () => void app.intent.opens(p.typed, shots.current);
  const cancelled = () => void app.intent.took(p.typed, shots.current);
  return (
    <section class="camera" aria-label="Photos">
      <div class="acts">
        <Pick label="Take photo" camera opens={opens} took={takeIn} cancelled={cancelled} />
        <Pick label="Choose photo" opens={opens} took={takeIn} cancelled={cancelled} />
      </div>
      {reading ? <p class="reading" role="status">Reading the photo.</p> : null}
      {wrong ? <p class="danger" role="alert">{wrong}</p> : null}
      <ul class="prints">
        {p.shots.map((s, i) => <Print key={s.taken_at + i} of={s} out={() => change(shots.current.filter((o) => o !== s))} />)}
      </ul>
    </section>
  );
}

/** The bytes of all files at once, before any handle goes stale, and the names of
 *  those that gave none. */
async function copiesOf(files: File[], subject: string | undefined, stage: Stage | undefined): Promise<{ taken: Taken[]; failed: string[] }> {
  const read = await Promise.allSettled(files.map((f) => f.arrayBuffer()));
  const taken: Taken[] = [];
  const failed: string[] = [];
  for (const [i, file] of files.entries()) {
    const bytes = read[i]!;
    if (bytes.status === "rejected" || bytes.value.byteLength === 0) failed.push(file.name);
    else taken.push({ type: "photo", media: file.type || "image/jpeg", original: bytes.value, taken_at: nowHere(), ...(subject ? { subject } : {}), ...(stage ? { stage } : {}) });
  }
  return { taken, failed };
}

/** Now, by this device, with its zone. */
export function nowHere(): string {
  const now = Date.now();
  return stamp(now, -new Date(now).getTimezoneOffset());
}

/** A button that opens the camera, or what was taken before. */
function Pick(p: { label: string; camera?: boolean; opens: () => void; took: (input: HTMLInputElement) => unknown; cancelled: () => void }) {
  const id = useId();
  return (
    <label class="act pick" for={id}>
      {p.label}
      <input id={id} type="file" accept={kinds} {...(p.camera ? { capture: "environment" as const } : { multiple: true })} onClick={p.opens} onChange={(e) => p.took(e.currentTarget)} onCancel={p.cancelled} />
    </label>
  );
}

function Print(p: { of: Taken; out: () => void }) {
  const address = useMemo(() => URL.createObjectURL(new Blob([p.of.original], { type: p.of.media })), [p.of]);
  const [hidden, hide] = useState(false);
  useEffect(() => () => URL.revokeObjectURL(address), [address]);
  return (
    <li>
      {hidden ? <p class="note">This phone cannot show it. It is kept and sent as it is.</p> : <img src={address} alt={`Photo${p.of.subject ? ` of ${p.of.subject}` : ""}`} onError={() => hide(true)} />}
      <Act sort="quiet" do={p.out}>Out</Act>
    </li>
  );
}
