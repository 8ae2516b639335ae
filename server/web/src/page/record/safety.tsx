// Before anybody goes below: today's sentences, each struck off with initials.
import { useState } from "preact/hooks";
import { initialsOf } from "../office.ts";
import { address, go } from "../route.ts";
import { say } from "../say.ts";
import { Act, Words } from "../ui/act.tsx";
import { useApp } from "../ui/app.tsx";
import { Frame } from "../ui/frame.tsx";
import { bodyFor, safetyCheckOf } from "./bodies.ts";
import { cautionOf, sentences } from "./forms.ts";
import type { Recording } from "./recording.ts";
import "./safety.css";
import { working } from "../office";

const services = ["power", "gas", "water"] as const;

export function SafetyCheck(p: Recording) {
  const app = useApp();
  const [struck, setStruck] = useState<Record<string, string>>({});
  const [atHatch, setAtHatch] = useState("");
  const [off, setOff] = useState<string[]>([]);
  const initials = app.who ? initialsOf(app.who) : "";
  const floor = address(["job", p.book.job]);
  const save = async () => {
    if (await app.record(p.book.job, "safety-check", bodyFor("safety-check", safetyCheckOf(sentences, struck, atHatch, off)))) go(floor, true);
  };
  const left = sentences.filter((s) => !struck[s]).length;
  return (
    <Frame title="Before anybody goes below" back={floor} picture={p.picture}>
      <ul class="rows sentences">
        {sentences.map((s) => (
          <li key={s}>
            <button type="button" aria-pressed={!!struck[s]} class={struck[s] ? "struck" : ""} onClick={() => setStruck({ ...struck, [s]: struck[s] ? "" : initials })}>
              <span>{say(s)}</span>
              <b>{struck[s]}</b>
            </button>
          </li>
        ))}
      </ul>
      <h2>Who stays at the hatch</h2>
      <Words small label="Who stays at the hatch" of={working(app.office).map((x) => ({ value: x.name, label: x.name }))} chosen={[atHatch]} choose={(n) => setAtHatch(n === atHatch ? "" : n)} />
      <h2>Turned off for the work</h2>
      <Words small label="Turned off for the work" of={services.map((x) => ({ value: x as string, label: x }))} chosen={off} choose={(x) => setOff(off.includes(x) ? off.filter((o) => o !== x) : [...off, x])} />
      <p class="note">{cautionOf("safety-check")}</p>
      <Act sort="main" disabled={left === sentences.length} do={save}>{left > 0 ? `Save, ${left} not struck off` : "Save"}</Act>
    </Frame>
  );
}
