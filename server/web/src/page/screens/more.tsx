// Everything that can be recorded on a job, ruled like the index of a level book, in the
// order in which a job meets it.
import { address } from "../route.ts";
import { say } from "../say.ts";
import type { Recording } from "../record/recording.ts";
import { index } from "../record/recorders.tsx";
import { Frame } from "../ui/frame.tsx";
import "./more.css";

export function More(p: Recording) {
  return (
    <Frame title="Everything else" back={address(["job", p.book.job])} picture={p.picture}>
      {index.map(([part, kinds]) => (
        <section key={part} class="index">
          <h2>{say(part)}</h2>
          <ul>{kinds.map(([kind, label]) => <li key={kind}><a href={address(["job", p.book.job, "do", kind])}>{say(label)}</a></li>)}</ul>
        </section>
      ))}
    </Frame>
  );
}
