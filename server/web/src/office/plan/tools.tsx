// The tools, each a word with its letter, and what they put down by typing.
import type { JSX } from "preact";
import { useState } from "preact/hooks";
import type { Editor, Tool } from "./editor.ts";
import { Untold } from "./measure.ts";
import { corner, corners, finish, parseCorners, putBearers, type RowsTyped } from "./strokes.ts";

/** The tools in their order, with the letter that takes each in hand. */
export const letters: [Tool, string][] = [
  ["choose", "v"], ["bearer", "b"], ["support", "s"], ["datum", "d"], ["spot", "p"], ["room", "r"], ["wall", "w"], ["fixed", "f"], ["door", "o"], ["hatch", "h"],
];

export function toolWord(e: Editor, tool: Tool): string {
  const word = tool === "fixed" ? "hearth" : e.now.words[tool] ?? tool;
  return word[0]!.toUpperCase() + word.slice(1);
}

export function Tools({ e }: { e: Editor }): JSX.Element {
  return (
    <div class="plan-tools" role="group" aria-label="Tools">
      {letters.map(([tool, letter]) => (
        <button key={tool} type="button" aria-pressed={e.tool === tool} title={`${toolWord(e, tool)}: ${letter.toUpperCase()}`} aria-keyshortcuts={letter} onClick={() => e.take(tool)}>{toolWord(e, tool)}</button>
      ))}
    </div>
  );
}

/** What the tool in hand puts down by typing. */
export function ToolLine({ e, rows, setRows, typing }: { e: Editor; rows: RowsTyped; setRows: (r: RowsTyped) => void; typing: (el: HTMLInputElement | null) => void }): JSX.Element {
  return (
    <div class="plan-line">
      {e.tool === "bearer" && <BearerLine e={e} rows={rows} setRows={setRows} typing={typing} />}
      {e.tool !== "choose" && e.tool !== "bearer" && e.tool !== "scale" && <PlaceLine key={e.tool} e={e} rows={rows} typing={typing} />}
      {e.tool !== "choose" && e.tool !== "scale" && e.stroke.length > 1 && corners[e.tool] === 0 && <button type="button" onClick={() => finish(e, e.stroke, rows)}>Close the outline</button>}
    </div>
  );
}

const ways = [{ deg: 0, says: "to the right" }, { deg: 90, says: "up" }, { deg: 180, says: "to the left" }, { deg: 270, says: "down" }];

/** Bearers by their figures: where the first begins, which way it runs, how many. */
function BearerLine({ e, rows, setRows, typing }: { e: Editor; rows: RowsTyped; setRows: (r: RowsTyped) => void; typing: (el: HTMLInputElement | null) => void }): JSX.Element {
  const [start, setStart] = useState("0 0");
  const [way, setWay] = useState("0");
  const [odd, setOdd] = useState(""); // degrees, where it runs no quarter
  const supports = `${toolWord(e, "support")}s`;
  const put = (ev: Event): void => {
    ev.preventDefault();
    try {
      const [from] = parseCorners(start, e.feet);
      const deg = Number((way || odd.trim() || "?").replace(",", "."));
      if (!from || !Number.isFinite(deg)) throw new Untold("where the first one stands: across and up, 0 0; and which way it runs");
      if (putBearers(e, from, deg, rows)) settled(e, rows, setRows);
    } catch (err) {
      if (!(err instanceof Untold)) throw err;
      e.set({ refused: { field: "rows", cure: err.message } });
    }
  };
  return (
    <form class="plan-row" onSubmit={put} noValidate>
      <label>{supports} <input ref={typing} class="figures wide" value={rows.spans} placeholder={e.feet ? "7 x 5'" : "7 x 1.5"} autocomplete="off" onInput={(ev) => setRows({ ...rows, spans: ev.currentTarget.value })} /></label>
      <label>{toolWord(e, "bearer")}s <input class="figures" value={rows.count} inputMode="numeric" autocomplete="off" onFocus={(ev) => ev.currentTarget.select()} onInput={(ev) => setRows({ ...rows, count: ev.currentTarget.value })} /></label>
      <label>apart <input class="figures" value={rows.apart} autocomplete="off" onFocus={(ev) => ev.currentTarget.select()} onInput={(ev) => setRows({ ...rows, apart: ev.currentTarget.value })} /></label>
      <label>Start <input class="figures" value={start} autocomplete="off" onInput={(ev) => setStart(ev.currentTarget.value)} /></label>
      <label>runs <select value={way} onChange={(ev) => setWay(ev.currentTarget.value)}>{ways.map((w) => <option key={w.deg} value={String(w.deg)}>{w.says}</option>)}<option value="">at an angle</option></select></label>
      {way === "" && <label>of ° <input class="figures" value={odd} placeholder="30" autocomplete="off" onInput={(ev) => setOdd(ev.currentTarget.value)} /></label>}
      <button>Put down</button>
      {e.refused?.field === "rows" && <p class="wrong" role="alert">{e.refused.cure}</p>}
    </form>
  );
}

/** What was put down is in sight; the next one is a single one again. */
function settled(e: Editor, rows: RowsTyped, setRows: (r: RowsTyped) => void): void {
  setRows({ ...rows, count: "1" });
  if (!e.inSight()) e.fit();
}

/** Anything else by its corners. */
function PlaceLine({ e, rows, typing }: { e: Editor; rows: RowsTyped; typing: (el: HTMLInputElement | null) => void }): JSX.Element {
  const [text, setText] = useState("");
  const wanted = corners[e.tool];
  const put = (ev: Event): void => {
    ev.preventDefault();
    try {
      const at = parseCorners(text, e.feet);
      const least = wanted || 2;
      if (at.length < least || (wanted && at.length > wanted)) throw new Untold(wanted === 1 ? "across and up of one place: 3 0.6" : wanted ? "across and up of two places: 0 0, 4.6 0" : "two opposite corners, or all of them: 0 0, 4.6 2.9");
      if (wanted === 1) corner(e, { at: at[0]!, guides: [] }, rows);
      else finish(e, at, rows);
      if (!e.inSight()) e.fit();
      setText("");
    } catch (err) {
      if (!(err instanceof Untold)) throw err;
      e.set({ refused: { field: "corners", cure: err.message } });
    }
  };
  return (
    <form class="plan-row" onSubmit={put} noValidate>
      <label>{wanted === 1 ? "At, right and up" : wanted === 2 ? "From and to" : "Corners"} <input ref={typing} class="figures wide" value={text} placeholder={wanted === 1 ? "3 0.6" : "0 0, 4.6 2.9"} autocomplete="off" onInput={(ev) => setText(ev.currentTarget.value)} /></label>
      <button>Put down</button>
      {e.refused?.field === "corners" && <p class="wrong" role="alert">{e.refused.cure}</p>}
    </form>
  );
}

