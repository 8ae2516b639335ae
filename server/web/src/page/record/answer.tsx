// The owner's answer to a change: yes and no are two buttons, so that neither is
// recorded by leaving something out.
import { useState } from "preact/hooks";
import { go } from "../route.ts";
import { Act, Words } from "../ui/act.tsx";
import { useApp } from "../ui/app.tsx";
import { Empty, Frame } from "../ui/frame.tsx";
import { bodyFor } from "./bodies.ts";
import { choicesOf, fieldOf } from "./forms.ts";
import { comeBack, type Recording } from "./recording.ts";

const ways = fieldOf("change-answered", "how").choices ?? [];

export function ChangeAnswered(p: Recording) {
  const app = useApp();
  const changes = choicesOf("changes", p.picture, app.office);
  const [change, setChange] = useState(p.query.get("change") ?? changes[0]?.value ?? "");
  const [name, setName] = useState("");
  const [how, setHow] = useState("");
  if (changes.length === 0) return <Frame title="The owner’s answer" back={comeBack(p)}><Empty>No {app.words.change} waits for an answer.</Empty></Frame>;
  const save = async (accepted: boolean) => {
    if (await app.record(p.book.job, "change-answered", bodyFor("change-answered", { change, accepted, name, how }))) go(comeBack(p), true);
  };
  return (
    <Frame title="The owner’s answer" back={comeBack(p)} picture={p.picture}>
      <Words label="Which" of={changes} chosen={[change]} choose={setChange} />
      <label class="field">Name of the owner<input maxLength={200} value={name} onInput={(e) => setName(e.currentTarget.value)} /></label>
      <Words small label="How it was answered" of={ways} chosen={[how]} choose={(h) => setHow(h === how ? "" : h)} />
      <div class="acts" role="group" aria-label="The answer">
        <Act sort="main" disabled={!name.trim()} do={() => save(true)}>Accepted</Act>
        <Act sort="main" disabled={!name.trim()} do={() => save(false)}>Declined</Act>
      </div>
    </Frame>
  );
}
