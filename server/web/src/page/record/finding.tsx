// A finding: why it dropped, or what is wrong, in one word where one will do.
import { useState } from "preact/hooks";
import type { Taken } from "../../shared/kept.ts";
import { go } from "../route.ts";
import { Act, Words } from "../ui/act.tsx";
import { useApp } from "../ui/app.tsx";
import { Camera } from "../ui/camera.tsx";
import { Frame } from "../ui/frame.tsx";
import { Sound } from "../ui/sound.tsx";
import { working } from "../office.ts";
import { bodyFor } from "./bodies.ts";
import { causes, fieldOf } from "./forms.ts";
import { comeBack, supportOf, type Recording } from "./recording.ts";

const found = ["loose", "rotten", "leaning", "gone", "split", "wet", "sheet packing", "sunk", "no support here", "can’t get to it"] as const;

const howBad = fieldOf("finding", "how_bad").choices ?? [];
const trades = fieldOf("finding", "trade").choices ?? [];

/** What a finding is called that is in no word, but in its sound. */
const spoken = "said, not written";

interface Typed {
  what: string;
  how_bad: string;
  where: string;
  cause: string;
  owner: string;
  trade: string;
  by: string;
  others: string[];
  sound: Taken | undefined;
}

const nothing: Typed = { what: "", how_bad: "", where: "", cause: "", owner: "", trade: "", by: "", others: [], sound: undefined };

export function Finding(p: Recording) {
  const app = useApp();
  const s = supportOf(p);
  const back = app.cameBack<Typed>();
  const [said, setSaid] = useState<Typed>({ ...nothing, ...back });
  const [shots, setShots] = useState<Taken[]>([]);
  const [more, showMore] = useState(false);
  const [listening, setListening] = useState(false);
  const say = (change: Partial<Typed>) => setSaid((was) => ({ ...was, ...change }));
  const what = said.what.trim() || (said.sound ? spoken : "");
  const save = async () => {
    const { others, sound, ...rest } = said;
    const body = bodyFor("finding", { ...rest, what, supports: [...(s ? [s.id] : []), ...others] });
    if (await app.record(p.book.job, "finding", body, [...(sound ? [sound] : []), ...shots])) go(comeBack(p), true);
  };
  return (
    <Frame title={s ? `Finding at ${s.id}` : "Finding"} back={comeBack(p)} picture={p.picture}>
      <Words label="What" of={found.map((w) => ({ value: w as string, label: w }))} chosen={[said.what]} choose={(w) => say({ what: w })} />
      <Camera shots={shots} change={setShots} subject={s?.id} stage="before" typed={said satisfies Typed} />
      <Act sort="main" disabled={!what || listening} do={save}>{listening ? "Stop the sound first" : `Save${what ? `: ${what}` : ""}`}</Act>
      <Sound quiet sound={said.sound} change={(sound) => say({ sound })} subject={s?.id} busy={setListening} />
      <Act sort="quiet" on={more} do={() => showMore(!more)}>How bad, where, cause, who mends it, other words</Act>
      {more ? <More of={p} said={said} say={say} /> : null}
    </Frame>
  );
}

/** What the office asks later, where somebody below knows it already. */
function More(p: { of: Recording; said: Typed; say: (change: Partial<Typed>) => void }) {
  const app = useApp();
  const { said, say } = p;
  const rooms = (p.of.picture.plan.rooms ?? []).map((r) => same(r.name));
  const flip = (name: "how_bad" | "where" | "cause" | "owner" | "trade") => (v: string) => say({ [name]: v === said[name] ? "" : v });
  const here = p.of.query.get("support");
  return (
    <>
      <label class="field">In other words<input value={said.what} maxLength={500} onInput={(e) => say({ what: e.currentTarget.value })} /></label>
      <h2>How bad</h2>
      <Words small label="How bad" of={howBad} chosen={[said.how_bad]} choose={flip("how_bad")} />
      {rooms.length > 0 ? <h2>Where</h2> : null}
      {rooms.length > 0 ? <Words small label="Where" of={rooms} chosen={[said.where]} choose={flip("where")} /> : null}
      <h2>Suspected cause</h2>
      <Words small label="Suspected cause" of={causes.map(same)} chosen={[said.cause]} choose={flip("cause")} />
      <h2>Who mends it</h2>
      <Words small label="Who mends it" of={trades} chosen={[said.trade]} choose={flip("trade")} />
      <h2>Who sees to it</h2>
      <Words small label="Who sees to it" of={working(app.office).map((x) => ({ value: x.id, label: x.name }))} chosen={[said.owner]} choose={flip("owner")} />
      <label class="field">By when<input type="date" value={said.by} onInput={(e) => say({ by: e.currentTarget.value })} /></label>
      <h2>It explains these, too</h2>
      <Words small label="It explains" of={p.of.picture.supports.filter((o) => o.id !== here).map((o) => same(o.id))} chosen={said.others}
        choose={(id) => say({ others: said.others.includes(id) ? said.others.filter((o) => o !== id) : [...said.others, id] })} />
    </>
  );
}

const same = (word: string) => ({ value: word, label: word });
