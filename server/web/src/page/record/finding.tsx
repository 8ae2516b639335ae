// A finding: why it dropped, or what is wrong, in one word where one will do.
import { useState } from "preact/hooks";
import type { Taken } from "../../shared/kept.ts";
import { go } from "../route.ts";
import { Act, Words } from "../ui/act.tsx";
import { useApp } from "../ui/app.tsx";
import { Camera } from "../ui/camera.tsx";
import { Frame } from "../ui/frame.tsx";
import { bodyFor } from "./bodies.ts";
import { causes, fieldOf } from "./forms.ts";
import { comeBack, supportOf, type Recording } from "./recording.ts";

const found = ["loose", "rotten", "leaning", "gone", "split", "wet", "sheet packing", "sunk", "no support here", "can’t get to it"] as const;

const howBad = fieldOf("finding", "how_bad").choices ?? [];
const trades = fieldOf("finding", "trade").choices ?? [];

interface Typed {
  what: string;
  how_bad: string;
  cause: string;
  owner: string;
  trade: string;
  others: string[];
}

export function Finding(p: Recording) {
  const app = useApp();
  const s = supportOf(p);
  const back = app.cameBack<Typed>();
  const [what, setWhat] = useState(back?.what ?? "");
  const [how_bad, setHowBad] = useState(back?.how_bad ?? "");
  const [cause, setCause] = useState(back?.cause ?? "");
  const [trade, setTrade] = useState(back?.trade ?? "");
  const [owner, setOwner] = useState(back?.owner ?? "");
  const [others, setOthers] = useState<string[]>(back?.others ?? []);
  const [shots, setShots] = useState<Taken[]>([]);
  const [more, showMore] = useState(false);
  const supports = [...(s ? [s.id] : []), ...others];
  const save = async () => {
    if (await app.record(p.book.job, "finding", bodyFor("finding", { what, how_bad, cause, supports, owner, trade }), shots)) go(comeBack(p), true);
  };
  return (
    <Frame title={s ? `Finding at ${s.id}` : "Finding"} back={comeBack(p)} picture={p.picture}>
      <Words label="What" of={found.map((w) => ({ value: w as string, label: w }))} chosen={[what]} choose={setWhat} />
      <Camera shots={shots} change={setShots} subject={s?.id} stage="before" typed={{ what, how_bad, cause, owner, trade, others } satisfies Typed} />
      <Act sort="main" disabled={!what.trim()} do={save}>Save{what ? `: ${what}` : ""}</Act>
      <Act sort="quiet" on={more} do={() => showMore(!more)}>How bad, cause, who mends it, other words</Act>
      {more ? (
        <>
          <label class="field">In other words<input value={what} maxLength={500} onInput={(e) => setWhat(e.currentTarget.value)} /></label>
          <h2>How bad</h2>
          <Words small label="How bad" of={howBad} chosen={[how_bad]} choose={(h) => setHowBad(h === how_bad ? "" : h)} />
          <h2>Suspected cause</h2>
          <Words small label="Suspected cause" of={causes.map((c) => ({ value: c, label: c }))} chosen={[cause]} choose={(c) => setCause(c === cause ? "" : c)} />
          <h2>Who mends it</h2>
          <Words small label="Who mends it" of={trades} chosen={[trade]} choose={(t) => setTrade(t === trade ? "" : t)} />
          <h2>Who sees to it</h2>
          <Words small label="Who sees to it" of={(app.office?.people ?? []).map((x) => ({ value: x.id, label: x.name }))} chosen={[owner]} choose={(x) => setOwner(x === owner ? "" : x)} />
          <h2>It explains these, too</h2>
          <Words small label="It explains" of={p.picture.supports.filter((o) => o.id !== s?.id).map((o) => ({ value: o.id, label: o.id }))} chosen={others}
            choose={(id) => setOthers(others.includes(id) ? others.filter((o) => o !== id) : [...others, id])} />
        </>
      ) : null}
    </Frame>
  );
}
