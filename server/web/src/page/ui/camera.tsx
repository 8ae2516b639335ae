// Photos for whatever is being recorded. Their bytes are copied the moment they
// come: a file of the camera may be gone when it is looked at later.
import { useEffect, useId, useMemo, useState } from "preact/hooks";
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

const kinds = "image/jpeg,image/png,image/webp";

export function Camera(p: Props) {
  const app = useApp();
  const [wrong, setWrong] = useState("");
  const [reading, setReading] = useState(false);
  const takeIn = async (input: HTMLInputElement) => {
    const files = [...(input.files ?? [])];
    input.value = "";
    setReading(true);
    setWrong("");
    const taken: Taken[] = [];
    for (const file of files) {
      try {
        taken.push(await copyOf(file, p.subject, p.stage));
      } catch {
        setWrong(`${file.name} could not be read: take it again.`);
      }
    }
    setReading(false);
    await app.cameraClosed();
    if (taken.length > 0) p.change([...p.shots, ...taken]);
  };
  return (
    <section class="camera" aria-label="Photos">
      <div class="acts">
        <Pick label="Take photo" camera opens={() => app.cameraOpens(p.typed)} took={takeIn} />
        <Pick label="Choose photo" opens={() => app.cameraOpens(p.typed)} took={takeIn} />
      </div>
      {reading ? <p role="status">Reading the photo.</p> : null}
      {wrong ? <p class="danger" role="alert">{wrong}</p> : null}
      <ul class="prints">
        {p.shots.map((s, i) => <Print key={s.taken_at + i} of={s} out={() => p.change(p.shots.filter((o) => o !== s))} />)}
      </ul>
    </section>
  );
}

async function copyOf(file: File, subject: string | undefined, stage: Stage | undefined): Promise<Taken> {
  const original = await file.arrayBuffer();
  if (original.byteLength === 0) throw new Error("it is empty");
  return { type: "photo", media: file.type || "image/jpeg", original, taken_at: nowHere(), ...(subject ? { subject } : {}), ...(stage ? { stage } : {}) };
}

/** Now, by this device, with its zone. */
export function nowHere(): string {
  const now = Date.now();
  return stamp(now, -new Date(now).getTimezoneOffset());
}

/** A button that opens the camera, or what was taken before. */
function Pick(p: { label: string; camera?: boolean; opens: () => unknown; took: (input: HTMLInputElement) => unknown }) {
  const id = useId();
  return (
    <label class="act pick" for={id}>
      {p.label}
      <input id={id} type="file" accept={kinds} {...(p.camera ? { capture: "environment" as const } : { multiple: true })} onClick={p.opens} onChange={(e) => p.took(e.currentTarget)} />
    </label>
  );
}

function Print(p: { of: Taken; out: () => void }) {
  const address = useMemo(() => URL.createObjectURL(new Blob([p.of.original], { type: p.of.media })), [p.of]);
  useEffect(() => () => URL.revokeObjectURL(address), [address]);
  return (
    <li>
      <img src={address} alt={`Photo${p.of.subject ? ` of ${p.of.subject}` : ""}`} />
      <Act sort="quiet" do={p.out}>Out</Act>
    </li>
  );
}
