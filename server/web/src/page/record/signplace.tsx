// Signing a room or the whole floor, or a support whose blocking stays. Any other support
// is signed where it is looked at.
import { useState } from "preact/hooks";
import type { Support } from "../../shared/picture.ts";
import { address, go } from "../route.ts";
import { say } from "../say.ts";
import { Hold, Way, Words } from "../ui/act.tsx";
import { useAnswer, useApp } from "../ui/app.tsx";
import { Empty, Frame } from "../ui/frame.tsx";
import { SmallPlan } from "../ui/smallplan.tsx";
import { bodyFor, type Bodies } from "./bodies.ts";
import { comeBack, supportOf, type Recording } from "./recording.ts";
import { lastReadingOf } from "./rests.ts";

export function SignPlace(p: Recording) {
  const app = useApp();
  const s = supportOf(p);
  const { brief, plan } = p.picture;
  const floor = address(["job", p.book.job]);
  const sign = async (body: Bodies["signed"]) => {
    if (await app.record(p.book.job, "signed", bodyFor("signed", body))) go(comeBack(p), true);
  };
  if (s) return <Staying at={p} support={s} sign={sign} />;
  return (
    <Frame title="Sign" back={floor} picture={p.picture}>
      <p>{brief.signed} of {brief.supports} {app.words.support}s are signed. One is signed on its own screen, on its last reading.</p>
      <SmallPlan of={p.picture} wide={336} high={220} />
      {(plan.rooms ?? []).map((r) => <Hold key={r.name} do={() => sign({ room: r.name })}>Sign {r.name}</Hold>)}
      <Hold sort="main" do={() => sign({ floor: true })}>Sign the whole floor</Hold>
    </Frame>
  );
}

const whys = ["the engineer wants it so", "it is part of the new support", "another trade needs it"] as const;

/** Blocking may stay where somebody says why. */
function Staying(p: { at: Recording; support: Support; sign: (body: Bodies["signed"]) => unknown }) {
  const { words } = useApp();
  const [why, setWhy] = useState("");
  const { id } = p.support;
  const { value } = useAnswer(() => lastReadingOf(p.at.book, id), [p.at.book.version, id]);
  return (
    <Frame title={`Sign ${id}: the ${words.blocking} stays`} back={comeBack(p.at)} picture={p.at.picture}>
      {value && !value.reading ? <Empty way={{ to: address(["job", p.at.book.job, "do", "reading"], { support: id }), label: "Read" }}>A signature rests on a reading, and there is none yet.</Empty> : null}
      <h2>Why it stays</h2>
      <Words label="Why it stays" of={whys.map((w) => ({ value: w as string, label: say(w) }))} chosen={[why]} choose={setWhy} />
      <label class="field">In other words<input maxLength={500} value={why} onInput={(e) => setWhy(e.currentTarget.value)} /></label>
      <Hold sort="main" disabled={!why.trim() || !value?.reading} do={() => p.sign({ support: id, ...value, blocking_stays: why })}>Sign</Hold>
      <Way sort="quiet" to={comeBack(p.at)}>Not yet</Way>
    </Frame>
  );
}
