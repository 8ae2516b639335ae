// Everything that can be recorded on a job, in the order in which a job meets it.
import { address } from "../route.ts";
import { say } from "../say.ts";
import type { Recording } from "../record/recording.ts";
import { recorders, inOrder } from "../record/recorders.tsx";
import { Way } from "../ui/act.tsx";
import { Frame } from "../ui/frame.tsx";

export function More(p: Recording) {
  return (
    <Frame title="Everything else" back={address(["job", p.book.job])} picture={p.picture}>
      <div class="acts">
        {inOrder.filter(([kind]) => recorders[kind]).map(([kind, label]) => (
          <Way key={kind} to={address(["job", p.book.job, "do", kind])}>{say(label)}</Way>
        ))}
      </div>
    </Frame>
  );
}
