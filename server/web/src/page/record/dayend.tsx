// The end of the day: what is left on a jack, out or uncovered, one by one with what
// can be done about it, and then that everybody is out.
import { useState } from "preact/hooks";
import type { Left } from "../../shared/picture.ts";
import { address, go } from "../route.ts";
import { say } from "../say.ts";
import { Act, Hold, Way } from "../ui/act.tsx";
import { useApp } from "../ui/app.tsx";
import { Frame } from "../ui/frame.tsx";
import { bodyFor, dayEndOf } from "./bodies.ts";
import { remedies } from "./remedies.ts";
import type { Recording } from "./recording.ts";
import "./dayend.css";

export function DayEnd(p: Recording) {
  const app = useApp();
  const left = p.picture.left ?? [];
  const [done, setDone] = useState("");
  const [on, setOn] = useState(false);
  const floor = address(["job", p.book.job]);
  const save = async (out: boolean) => {
    if (await app.record(p.book.job, "day-end", bodyFor("day-end", dayEndOf(left, done, out, on)))) go(floor, true);
  };
  return (
    <Frame title="End of the day" back={floor} picture={p.picture}>
      {left.length === 0 ? <p>Nothing is left on a jack, out, on {app.words.blocking} or uncovered.</p> : <p>Left as it is now. What is safe to change, change first.</p>}
      <ul class="rows left">{left.map((l) => <Item key={`${l.what} ${l.place}`} of={l} at={p} />)}</ul>
      <label class="field">What was done about it<textarea rows={2} maxLength={2000} value={done} onInput={(e) => setDone(e.currentTarget.value)} /></label>
      <Act on={on} do={() => setOn(!on)}>What was turned off is on again</Act>
      <Hold sort="main" do={() => save(true)}>Everybody is out. End the day</Hold>
      <Act sort="quiet" do={() => save(false)}>Save, somebody is still below</Act>
    </Frame>
  );
}

/** One thing that is left, and the ways to what would change it. */
function Item(p: { of: Left; at: Recording }) {
  const { of: l } = p;
  return (
    <li>
      <p class={l.dangerous ? "danger" : ""}><b>{l.place}</b> {say(l.what)}</p>
      <div class="acts">{remedies(p.at.book.job, p.at.picture, l).map((r) => <Way key={r.to} sort="quiet" to={r.to}>{r.label}</Way>)}</div>
    </li>
  );
}
