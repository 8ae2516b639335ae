// A finder of our own, with the picture before beside it or faintly over it, so that
// the pair is taken from the same place.
import { useEffect, useRef, useState } from "preact/hooks";
import type { Taken } from "../../shared/kept.ts";
import { pictureBefore } from "../album.ts";
import { Act } from "./act.tsx";
import { useAnswer, useApp } from "./app.tsx";
import { nowHere } from "./camera.tsx";
import "./finder.css";

type Over = "none" | "faint" | "half" | "beside";

export function Finder(p: { job: string; subject: string; done: (shot: Taken | undefined) => void }) {
  const app = useApp();
  const video = useRef<HTMLVideoElement>(null);
  const [over, setOver] = useState<Over>("faint");
  const [wrong, setWrong] = useState("");
  const before = useAnswer(() => pictureBefore(app, p.job, p.subject), [p.job, p.subject]).value;
  useEffect(() => {
    let stream: MediaStream | undefined;
    let wanted = true;
    navigator.mediaDevices.getUserMedia({ video: { facingMode: "environment", width: { ideal: 4096 }, height: { ideal: 3072 } } }).then((s) => {
      stream = s;
      if (!wanted) return stop(s);
      if (video.current) video.current.srcObject = s;
    }, () => wanted && setWrong("The camera is not allowed here. Allow it in the phone’s settings for this app, or go back and use “Take photo”."));
    return () => {
      wanted = false;
      if (stream) stop(stream);
    };
  }, []);
  const address = useAddress(before);
  const take = async () => p.done(await frameOf(video.current!, p.subject));
  return (
    <div class={`finder ${over}`}>
      <div class="sight">
        <video ref={video} autoplay muted playsInline />
        {address && over !== "none" ? <img src={address} alt={`Before: ${p.subject}`} /> : null}
      </div>
      {wrong ? <p class="danger" role="alert">{wrong}</p> : before === undefined ? <p class="note">No picture of {p.subject} before is on this phone.</p> : null}
      <div class="words small" role="group" aria-label="The picture before">
        {(["none", "faint", "half", "beside"] as const).map((o) => <Act key={o} on={o === over} do={() => setOver(o)}>{o}</Act>)}
      </div>
      <div class="acts">
        <Act do={() => p.done(undefined)}>Back</Act>
        <Act sort="main" disabled={wrong !== ""} do={take}>Take it</Act>
      </div>
    </div>
  );
}

function stop(s: MediaStream): void {
  for (const track of s.getTracks()) track.stop();
}

function useAddress(blob: Blob | undefined): string | undefined {
  const [address, set] = useState<string>();
  useEffect(() => {
    if (!blob) return;
    const made = URL.createObjectURL(blob);
    set(made);
    return () => URL.revokeObjectURL(made);
  }, [blob]);
  return address;
}

/** One frame as the sensor gives it. */
async function frameOf(video: HTMLVideoElement, subject: string): Promise<Taken> {
  const sheet = document.createElement("canvas");
  sheet.width = video.videoWidth;
  sheet.height = video.videoHeight;
  sheet.getContext("2d")!.drawImage(video, 0, 0);
  const blob = await new Promise<Blob>((done, failed) => sheet.toBlob((b) => (b ? done(b) : failed(new Error("the camera gave no picture"))), "image/jpeg", 0.92));
  return { type: "photo", media: "image/jpeg", original: await blob.arrayBuffer(), subject, stage: "after", taken_at: nowHere() };
}
