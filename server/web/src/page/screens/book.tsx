// The book: a line a record, as in a level book, the latest first.
import { useState } from "preact/hooks";
import type { Line } from "../../shared/picture.ts";
import { show, signed } from "../../shared/length.ts";
import type { Recording } from "../record/recording.ts";
import { address } from "../route.ts";
import { say } from "../say.ts";
import { Act } from "../ui/act.tsx";
import { useAnswer, useApp } from "../ui/app.tsx";
import { Empty, Frame } from "../ui/frame.tsx";
import "./book.css";

const page = 60;

export function BookScreen(p: Recording) {
  const [limit, setLimit] = useState(page);
  const { value, failed } = useAnswer(() => p.book.lines(limit), [p.book.version, limit]);
  const lines = [...(value ?? [])].reverse();
  return (
    <Frame title="The book" back={address(["job", p.book.job])} picture={p.picture}>
      <Flags of={p} />
      {failed ? <p class="danger">{failed}</p> : null}
      {value && lines.length === 0 ? <Empty>Nothing is recorded on this job yet.</Empty> : null}
      <table class="book">
        <thead><tr><th>No.</th><th>What</th><th class="num">{say("Staff")}</th><th class="num">Height</th><th class="num">Move</th></tr></thead>
        <tbody>{lines.map((l) => <Row key={l.id} of={l} at={p} />)}</tbody>
      </table>
      {lines.length === limit ? <Act do={() => setLimit(limit + page)}>Earlier</Act> : null}
    </Frame>
  );
}

/** What somebody should look at: late events that changed a figure, wrong clocks. */
function Flags(p: { of: Recording }) {
  const flags = p.of.book.lookAt();
  if (flags.length === 0) return null;
  return (
    <section class="flags">
      <h2>Look at</h2>
      <ul class="rows">{flags.slice(0, 8).map((f) => <li key={f.id + f.text}><p>{f.seq}: {f.text}</p></li>)}</ul>
    </section>
  );
}

function Row(p: { of: Line; at: Recording }) {
  const app = useApp();
  const [open, setOpen] = useState(false);
  const { of: l } = p;
  const unit = app.unit;
  const own = l.seq > p.at.book.seen;
  const void_ = () => app.record(p.at.book.job, "void", { event: l.id, why: "does not count" });
  return (
    <>
      <tr class={`${l.voided ? "voided" : ""} ${own ? "own" : ""}`}>
        <td>{own ? "here" : l.seq}</td>
        <td><button type="button" class="line" aria-expanded={open} onClick={() => setOpen(!open)}>{l.what} {l.points?.slice(0, 4).join(" ")}</button></td>
        <td class="num">{l.staff_mm === undefined ? "" : show(l.staff_mm, unit)}</td>
        <td class="num">{l.height_mm === undefined ? "" : show(l.height_mm, unit)}</td>
        <td class="num">{l.move_mm === undefined ? "" : signed(l.move_mm, unit)}</td>
      </tr>
      {open ? (
        <tr class="more">
          <td />
          <td colSpan={4}>
            <p>{l.text}</p>
            {l.voided ? <p class="note">Does not count: {l.voided}</p> : null}
            {l.aside ? <p class="danger">Set aside: {l.aside}</p> : null}
            {l.voided || l.kind === "void" ? null : <Act sort="quiet" do={void_}>Take it back</Act>}
          </td>
        </tr>
      ) : null}
    </>
  );
}
