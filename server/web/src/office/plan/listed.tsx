// Everything on the plan as a list: for the keyboard, for who does not see the
// drawing, and to find a thing by its name.
import type { JSX } from "preact";
import { useState } from "preact/hooks";
import type { Editor } from "./editor.ts";
import { bearerOf, keyOf, keysOf, parts, type Key, type Sort } from "./plan.ts";
import { lineOf, nameOf, sortWord } from "./said.ts";

export function Listed({ e }: { e: Editor }): JSX.Element {
  const loose = (e.plan.supports ?? []).filter((s) => !bearerOf(e.plan, s.id)).map((s) => keyOf("support", s.id));
  const of = (sort: Sort): Key[] => keysOf(e.plan).filter((k) => parts(k).sort === sort);
  return (
    <section aria-label="On the plan">
      <h2>On the plan</h2>
      <Find e={e} />
      <table class="ruled plan-list"><tbody>
        {(e.plan.bearers ?? []).map((b) => <Row key={b.id} e={e} head={<Thing e={e} of={keyOf("bearer", b.id)} />} keys={b.supports.map((s) => keyOf("support", s))} />)}
        <Row e={e} head={`On no ${e.now.words["bearer"]}`} keys={loose} />
        {(["datum", "spot", "room", "wall", "fixed", "door", "hatch"] as const).map((sort) => <Row key={sort} e={e} head={heading(sortWord(sort, e.speech))} keys={of(sort)} />)}
      </tbody></table>
    </section>
  );
}

/** "hatch" is the head of the row of hatches. */
function heading(word: string): string {
  return `${word[0]!.toUpperCase()}${word.slice(1)}${/(ch|sh|s)$/.test(word) ? "es" : "s"}`;
}

function Row({ e, head, keys }: { e: Editor; head: JSX.Element | string; keys: Key[] }): JSX.Element | null {
  if (keys.length === 0) return null;
  return <tr><th scope="row">{head}</th><td>{keys.map((k) => <Thing key={k} e={e} of={k} />)}</td></tr>;
}

function Thing({ e, of }: { e: Editor; of: Key }): JSX.Element {
  const { id } = parts(of);
  const below = e.now.none.includes(id) ? ", nothing stands there" : e.now.found.includes(id) ? ", found below" : "";
  return <button type="button" class="thing" aria-pressed={e.chosen.includes(of)} aria-label={`${lineOf(e.plan, of, e.speech)}${below}`} onClick={(ev) => e.choose([of], ev.shiftKey || ev.ctrlKey || e.several)}>{nameOf(e.plan, of)}</button>;
}

/** Chooses by name: "B1-3", or several: "B1-3 B1-4". */
function Find({ e }: { e: Editor }): JSX.Element {
  const [text, setText] = useState("");
  const [cure, setCure] = useState("");
  const find = (ev: Event): void => {
    ev.preventDefault();
    const words = text.toLowerCase().split(/[\s,]+/).filter(Boolean);
    const named = keysOf(e.plan).map((k) => ({ k, name: nameOf(e.plan, k).toLowerCase() }));
    const keys = named.some((n) => n.name === text.trim().toLowerCase()) ? named.filter((n) => n.name === text.trim().toLowerCase()).map((n) => n.k) : words.flatMap((w) => named.filter((n) => n.name === w).map((n) => n.k));
    setCure(keys.length ? "" : `nothing is called ${text.trim() || "so"}: a name from the list`);
    if (keys.length) e.choose(keys, false);
  };
  return (
    <form class="plan-row" onSubmit={find} noValidate>
      <label>Choose by name <input value={text} autocomplete="off" onInput={(ev) => setText(ev.currentTarget.value)} /></label>
      <button>Choose</button>
      {cure && <p class="wrong" role="alert">{cure}</p>}
    </form>
  );
}
