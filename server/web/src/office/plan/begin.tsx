// Where there is nothing yet: a rectangle to begin from, another job's plan, a picture.
import type { JSX } from "preact";
import { useState } from "preact/hooks";
import { rectangle } from "./edit.ts";
import type { Editor } from "./editor.ts";
import { fieldLength, parseLength } from "./measure.ts";

export function Begin({ e }: { e: Editor }): JSX.Element {
  const words = e.now.words;
  return (
    <section aria-label="Begin" class="plan-begin">
      <h2>Begin</h2>
      <p>Take <button type="button" class="word" onClick={() => e.take("bearer")}>{words["bearer"]}</button> and put the first one down, or begin with a plain house:</p>
      <House e={e} />
      <CopyFrom e={e} />
    </section>
  );
}

function House({ e }: { e: Editor }): JSX.Element {
  const [typed, setTyped] = useState({ length: "", width: "", apart: fieldLength(1.8, e.feet), spacing: fieldLength(1.5, e.feet) });
  const put = (ev: Event): void => {
    ev.preventDefault();
    const [length, width, apart, spacing] = [typed.length, typed.width, typed.apart, typed.spacing].map((t) => parseLength(t, e.feet));
    if (!length || !width || !apart || !spacing || [length, width, apart, spacing].some((v) => v <= 0) || length > 100 || width > 100 || length / spacing > 100 || width / apart > 60) {
      return e.set({ refused: { field: "house", cure: e.feet ? "four lengths: 32', 20', 6', 5'" : "four lengths in metres: 9.6, 6, 1.8, 1.5" } });
    }
    const done = rectangle(e.plan, { length, width, apart, spacing });
    e.do(done.plan, "Began with a plain house", done.keys);
    e.fit();
  };
  const field = (name: keyof typeof typed, label: string): JSX.Element => (
    <label>{label} <input class="figures" value={typed[name]} autocomplete="off" onInput={(ev) => setTyped({ ...typed, [name]: ev.currentTarget.value })} /></label>
  );
  return (
    <form class="plan-row" onSubmit={put} noValidate>
      {field("length", "Long")}{field("width", "wide")}{field("apart", `${e.now.words["bearer"]}s apart, about`)}{field("spacing", `${e.now.words["support"]}s apart, about`)}
      <button>Begin with it</button>
      {e.refused?.field === "house" && <p class="wrong" role="alert">{e.refused.cure}</p>}
    </form>
  );
}

/** The plan of another job, without its readings. */
export function CopyFrom({ e }: { e: Editor }): JSX.Element | null {
  const [job, setJob] = useState("");
  if (e.now.jobs.length === 0) return null;
  return (
    <div class="plan-row">
      <label>Or copy the plan of <select value={job} onChange={(ev) => setJob(ev.currentTarget.value)}>
        <option value="">choose a job</option>
        {e.now.jobs.map((j) => <option key={j.id} value={j.id}>{`${j.name}, ${j.supports} ${e.now.words["support"]}s`}</option>)}
      </select></label>
      <button type="button" disabled={!job} onClick={() => { const from = e.now.jobs.find((j) => j.id === job); if (from) void e.copyFrom(from); }}>Copy it</button>
    </div>
  );
}
