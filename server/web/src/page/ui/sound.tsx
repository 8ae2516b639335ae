// A sound of up to a minute, that can be heard before it is kept.
import { useEffect, useRef, useState } from "preact/hooks";
import type { Taken } from "../../shared/kept.ts";
import { Act } from "./act.tsx";
import { nowHere } from "./camera.tsx";
import { listen, Refused, type Listening } from "./listen.ts";

interface Props {
  sound: Taken | undefined;
  change: (s: Taken | undefined) => void;
  subject: string | undefined;
  quiet?: boolean; // something else is usual here
  busy: (listening: boolean) => void; // what is said is not in sound yet
}

export function Sound(p: Props) {
  const [left, setLeft] = useState<number>();
  const [wrong, setWrong] = useState("");
  const listening = useRef<Listening>(undefined);
  const gone = useRef(false);
  useEffect(() => () => {
    gone.current = true;
    listening.current?.stop();
  }, []);
  const begin = async () => {
    setWrong("");
    p.busy(true);
    try {
      listening.current = await listen((s) => gone.current || setLeft(s));
      if (gone.current) listening.current.stop();
      const { data, media } = await listening.current.said;
      if (!gone.current) p.change({ type: "sound", media, original: data, taken_at: nowHere(), ...(p.subject ? { subject: p.subject } : {}) });
    } catch (e) {
      setWrong(e instanceof Refused ? "The microphone is not allowed here. Allow it for this app in the phone’s settings, or type." : `Nothing was kept: ${e instanceof Error ? e.message : String(e)}. Say it again, or type.`);
    }
    setLeft(undefined);
    p.busy(false);
  };
  if (left !== undefined) return <Act sort="main" do={() => listening.current?.stop()}>Stop. {left} s left</Act>;
  return (
    <>
      {p.sound ? <Heard of={p.sound} /> : null}
      <div class="acts">
        <Act sort={p.sound || p.quiet ? "quiet" : "main"} do={begin}>{p.sound ? "Say it again" : "Say it"}</Act>
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
  return <audio controls src={address} aria-label="What was said" />;
}
