// A stop, and the go-ahead that ends it.
import { useState } from "preact/hooks";
import type { ID } from "../../shared/event.ts";
import type { Taken } from "../../shared/kept.ts";
import { address, go } from "../route.ts";
import { Act, Way, Words } from "../ui/act.tsx";
import { useApp } from "../ui/app.tsx";
import { Camera } from "../ui/camera.tsx";
import { Empty, Frame, sinceHeard } from "../ui/frame.tsx";
import { bodyFor } from "./bodies.ts";
import { cautionOf } from "./forms.ts";
import { comeBack, type Recording } from "./recording.ts";
import { working } from "../office";

const whys = ["something cracks", "something moved that should not", "a service is in the way", "bad air or gas", "water", "somebody is hurt", "ask the engineer"] as const;

interface Said {
  why: string;
  here: boolean;
}

export function Stop(p: Recording) {
  const app = useApp();
  const at = p.query.getAll("support");
  const proposed = p.query.get("why");
  const [back] = useState(() => app.cameBack<Said>());
  const [why, setWhy] = useState(back?.why ?? proposed ?? "");
  const [here, setHere] = useState(back?.here ?? at.length > 0);
  const [shots, setShots] = useState<Taken[]>([]);
  const [sent, setSent] = useState(false);
  const stop = async (ask: string, ask_of?: ID) => {
    const body = bodyFor("stop", { why: why.trim() || "stop", ask, ask_of, supports: here ? at : [] });
    if (await app.record(p.book.job, "stop", body, shots)) setSent(true);
  };
  if (sent) {
    return (
      <Frame title="Stopped" back={comeBack(p)} picture={p.picture}>
        <p class="danger asked" role="alert"><b>{cautionOf("stop")}</b></p>
        <p>{sinceHeard(app.standing.heardAt)}</p>
        <Way sort="main" to={comeBack(p)}>I have called out</Way>
      </Frame>
    );
  }
  return (
    <Frame title="Stop" back={comeBack(p)} picture={p.picture}>
      {at.length > 0 ? <Words small label="Where" of={[{ value: "here", label: `At ${at.join(", ")}` }, { value: "all", label: "The whole job" }]} chosen={[here ? "here" : "all"]} choose={(w) => setHere(w === "here")} /> : null}
      <Words label="Why" of={whys.map((w) => ({ value: w as string, label: w }))} chosen={[why]} choose={setWhy} />
      <label class="field">In other words<input maxLength={500} value={why} onInput={(e) => setWhy(e.currentTarget.value)} /></label>
      <h2>Stop. The go-ahead is given by</h2>
      <div class="acts" role="group" aria-label="Who may give the go-ahead">
        {["the engineer", "the office"].map((name) => <Act key={name} sort="stop" do={() => stop(name)}>{name}</Act>)}
        {working(app.office).map((x) => <Act key={x.id} sort="stop" do={() => stop(x.name, x.id)}>{x.name}</Act>)}
      </div>
      <p class="note">With a photo, where there is time for one: take it first.</p>
      <Camera shots={shots} change={setShots} subject={at[0]} stage="during" typed={{ why, here } satisfies Said} />
    </Frame>
  );
}

export function GoAhead(p: Recording) {
  const app = useApp();
  const stops = p.picture.stops ?? [];
  const [id, setId] = useState(p.query.get("stop") ?? stops[0]?.id ?? "");
  const [why, setWhy] = useState("");
  const stop = stops.find((s) => s.id === id);
  if (!stop) return <Frame title="Go ahead" back={comeBack(p)}><Empty>Nothing is stopped.</Empty></Frame>;
  const save = async (who: string, who_of?: ID) => {
    if (await app.record(p.book.job, "go-ahead", bodyFor("go-ahead", { stop: id, who, who_of, why }))) go(comeBack(p), true);
  };
  const named = stop.name ?? "";
  const namedID = p.picture.halts?.find((s) => s.id === id)?.ask_of;
  const office = working(app.office).filter((x) => x.role === "office" && x.id !== namedID && x.name !== named);
  return (
    <Frame title="Go ahead" back={comeBack(p)} picture={p.picture}>
      <Words label="Which stop" of={stops.map((s) => ({ value: s.id, label: s.text }))} chosen={[id]} choose={setId} />
      <p>{named} was named to give it.</p>
      <Act sort="main" do={() => save(named, namedID)}>{named} says: go ahead</Act>
      <label class="field">Somebody of the office says so, because<input maxLength={500} value={why} onInput={(e) => setWhy(e.currentTarget.value)} /></label>
      <div class="acts" role="group" aria-label="Who says so">
        {office.map((x) => <Act key={x.id} disabled={!why.trim()} do={() => save(x.name, x.id)}>{x.name}</Act>)}
        {office.length === 0 && named !== "the office" ? <Act disabled={!why.trim()} do={() => save("the office")}>the office</Act> : null}
      </div>
      <Way sort="quiet" to={address(["job", p.book.job])}>Not yet</Way>
    </Frame>
  );
}
