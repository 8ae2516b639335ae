// The end of the day: what is left on a jack, out or uncovered, one by one, and that
// everybody is out.
import { useState } from "preact/hooks";
import type { Left } from "../../shared/picture.ts";
import { address, go } from "../route.ts";
import { Act, Hold, Way } from "../ui/act.tsx";
import { useApp } from "../ui/app.tsx";
import { Frame } from "../ui/frame.tsx";
import type { Recording } from "./recording.ts";

export function DayEnd(p: Recording) {
  const app = useApp();
  const left = p.picture.left ?? [];
  const [done, setDone] = useState("");
  const [on, setOn] = useState(false);
  const floor = address(["job", p.book.job]);
  const save = async (out: boolean) => {
    const body = { ...(left.length ? { left: left.map(words) } : {}), ...(done.trim() ? { done: done.trim() } : {}), out, ...(on ? { on } : {}) };
    if (await app.record(p.book.job, "day-end", body)) go(floor, true);
  };
  return (
    <Frame title="End of the day" back={floor} picture={p.picture}>
      {left.length === 0 ? <p>Nothing is left on a jack, out, on {app.words.blocking} or uncovered.</p> : <p>Left as it is now. What is safe to change, change first.</p>}
      <ul class="rows">{left.map((l) => <Item key={l.seq + l.place} of={l} at={p} />)}</ul>
      <label class="field">What was done about it<textarea rows={2} maxLength={2000} value={done} onInput={(e) => setDone(e.currentTarget.value)} /></label>
      <Act on={on} do={() => setOn(!on)}>What was turned off is on again</Act>
      <Hold sort="main" do={() => save(true)}>Everybody is out. End the day</Hold>
      <Act sort="quiet" do={() => save(false)}>Save, somebody is still below</Act>
    </Frame>
  );
}

function words(l: Left): string {
  return `${l.place} ${l.what}`.trim();
}

/** One thing that is left, and the way to what would change it. */
function Item(p: { of: Left; at: Recording }) {
  const { of: l } = p;
  const support = p.at.picture.supports.find((s) => s.id === l.place);
  const cut = (p.at.picture.lists.cuts ?? []).some((c) => c.name === l.place);
  const job = p.at.book.job;
  return (
    <li>
      <p class={l.dangerous ? "danger" : ""}><b>{l.place}</b> {l.what}</p>
      {support ? <Way sort="quiet" to={address(["job", job, "support", support.id])}>To {support.id}</Way> : null}
      {cut ? <Way sort="quiet" to={address(["job", job, "do", "floor-closed"], { cut: l.place })}>Cover it</Way> : null}
    </li>
  );
}
