// A finder of our own, with the picture before beside it or faintly over it, so that
// the pair is taken from the same place.
import { useEffect, useRef, useState } from "preact/hooks";
import type { Taken } from "../../shared/kept.ts";
import { Act } from "./act.tsx";
import { useAnswer, useApp } from "./app.tsx";
import { nowHere } from "./camera.tsx";
import { useLens } from "./lens.ts";
import { still } from "./still.ts";
import "./finder.css";

type Over = "none" | "faint" | "half" | "beside";

const overs: Over[] = ["none", "faint", "half", "beside"];
const asLarge = { width: { ideal: 4096 }, height: { ideal: 3072 } };

export function Finder(p: { job: string; subject: string; done: (shot: Taken | undefined) => void }) {
  const video = useRef<HTMLVideoElement>(null);
  const lens = useLens(video, asLarge);
  const [over, setOver] = useState<Over>("faint");
  const [failed, setFailed] = useState("");
  const take = async () => {
    try {
      const picture = await still(lens.track!, video.current!);
      p.done({ type: "photo", media: picture.type, original: await picture.arrayBuffer(), subject: p.subject, stage: "after", taken_at: nowHere() });
    } catch (e) {
      setFailed(`No photo was taken: ${e instanceof Error ? e.message : String(e)}. Try again.`);
    }
  };
  return (
    <div class={`finder ${over}`} role="dialog" aria-label={`Photo of ${p.subject}, after`}>
      <div class="sight">
        <video ref={video} autoplay muted playsInline />
        <Before job={p.job} subject={p.subject} shown={over !== "none"} />
      </div>
      {lens.refused ? <p class="danger" role="alert">The camera is not allowed here. Allow it for this app in the phone’s settings, or go back and use “Take photo”.</p> : null}
      {failed ? <p class="danger" role="alert">{failed}</p> : null}
      <div class="overs" role="group" aria-label="The picture before">
        {overs.map((o) => <Act key={o} on={o === over} do={() => setOver(o)}>{o}</Act>)}
      </div>
      <div class="acts">
        <Act do={() => p.done(undefined)}>Back</Act>
        <Act sort="main" disabled={!lens.track} do={take}>Take it</Act>
      </div>
    </div>
  );
}

/** The picture before; why there is none. */
function Before(p: { job: string; subject: string; shown: boolean }) {
  const app = useApp();
  const answer = useAnswer(async () => (await app.album.before(p.job, p.subject)) ?? null, [p.job, p.subject]);
  const address = useAddress(answer.value ?? undefined);
  if (address) return p.shown ? <img src={address} alt={`${p.subject}, before`} /> : null;
  const why = answer.value === null || answer.failed ? `No picture of ${p.subject} before is on this phone.` : "Looking for the picture before.";
  return <p class="why" role="status">{why}</p>;
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
