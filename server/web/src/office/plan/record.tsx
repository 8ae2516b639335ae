// What is wrong or missing, what others did meanwhile, and recording the plan.
import type { JSX } from "preact";
import { useEffect, useRef } from "preact/hooks";
import type { Editor } from "./editor.ts";
import { Choice } from "./fields.tsx";
import { keyOfField, wrongLine } from "./said.ts";
import type { Advice } from "./wire.ts";

/** The check list in words. A line leads to the thing it is about. */
export function Checks({ e }: { e: Editor }): JSX.Element {
  return (
    <section aria-label="Look at again">
      <h2>Look at again</h2>
      {e.advice.length === 0 ? <p class="note">Nothing is wrong, and nothing is missing.</p> : <ul class="plan-checks">{e.advice.map((a, i) => <Line key={i} e={e} a={a} />)}</ul>}
    </section>
  );
}

function Line({ e, a }: { e: Editor; a: Advice }): JSX.Element {
  const key = keyOfField(e.plan, a.field);
  const words = a.wrong ? `Not to be recorded so: ${wrongLine(e.plan, a.field, a.words)}` : a.words;
  return <li class={a.wrong ? "danger" : ""}>{key ? <button type="button" class="word" onClick={() => e.choose([key], false)}>{words}</button> : words}</li>;
}

export function Record({ e }: { e: Editor }): JSX.Element {
  const leaving = e.leaving;
  const unasked = leaving.filter((id) => !e.gone.includes(id));
  const people = [{ value: "", label: "who records this" }, ...e.now.people.map((p) => ({ value: p.id, label: p.name }))];
  const elsewhere = e.refused && !["rows", "corners", "by", "beside", "house", "scale", "recorder"].includes(e.refused.field) && !keyOfField(e.plan, e.refused.field);
  return (
    <section aria-label="Record" class="plan-record">
      {e.saved && <p class="saved" role="status">{e.saved}</p>}
      {leaving.length > 0 && (
        <p class="caution">Records stand under {leaving.join(", ")}, which {leaving.length > 1 ? "are" : "is"} off the plan now. {leaving.length > 1 ? "They stay" : "It stays"} in the book and can be put back under the same name.{" "}
          {unasked.length > 0 ? <button type="button" onClick={() => e.set({ gone: leaving })}>They may leave the plan</button> : "They may leave the plan."}
        </p>
      )}
      {e.now.people.length > 0 && <Choice label="Recorded by" value={e.recorder} options={people} wrong={e.refused?.field === "recorder" ? e.refused.cure : undefined} take={(v) => e.set({ recorder: v, refused: undefined })} />}
      {elsewhere && <p class="wrong" role="alert">{e.refused!.cure}</p>}
      <p class="acts">
        <button type="button" class="main" aria-disabled={e.busy || !e.changed || unasked.length > 0} onClick={() => { if (e.changed && unasked.length === 0) void e.record(); }}>{e.busy ? "Recording…" : "Record the plan"}</button>
        {e.changed && <button type="button" onClick={() => e.revert()}>Back to what is recorded</button>}
      </p>
      <p class="note">{unsaid(e, unasked)}</p>
    </section>
  );
}

function unsaid(e: Editor, unasked: string[]): string {
  if (unasked.length > 0) return "Say first that what has records may leave the plan.";
  if (!e.changed) return "All that is drawn is recorded.";
  return e.keeps ? "Not recorded yet. This window keeps it, also over a reload." : "Not recorded yet, and this window cannot keep it: record it before you leave.";
}

/** Somebody else was faster. */
export function HeldUp({ e }: { e: Editor }): JSX.Element | null {
  const held = e.held;
  const place = useRef<HTMLElement>(null);
  useEffect(() => place.current?.focus(), [held]); // wherever one was, this comes first
  if (!held) return null;
  return (
    <section ref={place} tabIndex={-1} aria-label="What came in between" class="plan-held">
      <h2>{held.late ? "Recorded, and something came in just before" : "Something came in between"}</h2>
      {held.between.length > 0 && <ul>{held.between.map((c) => <li key={c.seq}>Line {c.seq}, {c.when}{c.by ? `, ${c.by}` : ""}: {c.what}</li>)}</ul>}
      <p>{held.late ? "Both are in the book. The later plan is what is drawn now; what was found below is on it." : "Nothing was recorded, and nothing of yours is lost. Take it over: what only they changed is as they left it; where both did, yours stays and is named."}</p>
      <p class="acts">{held.late ? <button type="button" onClick={() => e.set({ held: undefined })}>Seen</button> : <button type="button" class="main" onClick={() => e.takeOver()}>Take it over</button>}</p>
    </section>
  );
}

/** Every plan there was. */
export function Earlier({ e }: { e: Editor }): JSX.Element | null {
  if (e.now.earlier.length === 0) return null;
  return (
    <details><summary>Earlier plans</summary>
      <table class="ruled"><tbody>
        {e.now.earlier.map((c) => <tr key={c.seq}><th scope="row">{c.when}</th><td>{c.what.replace(/^Plan: /, "")}{c.by ? `, ${c.by}` : ""}</td><td><button type="button" class="word" aria-label={`Look at it: the plan of ${c.when}, line ${c.seq}`} onClick={() => void e.look(c)}>Look at it</button></td></tr>)}
      </tbody></table>
    </details>
  );
}

/** The earlier plan that is looked at. */
export function Looking({ e }: { e: Editor }): JSX.Element | null {
  if (!e.looking) return null;
  return (
    <div class="plan-looking" role="status">
      <p>The plan of {e.looking.change.when}, as it was. Nothing changes by looking.</p>
      <p class="acts"><button type="button" onClick={() => e.takeBack()}>Take it back</button><button type="button" onClick={() => e.set({ looking: undefined })}>Return to yours</button></p>
    </div>
  );
}
