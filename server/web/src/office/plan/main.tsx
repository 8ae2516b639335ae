// The page on which a plan is drawn.
import { render, type JSX } from "preact";
import { useEffect, useMemo, useReducer, useRef, useState } from "preact/hooks";
import { Begin, CopyFrom } from "./begin.tsx";
import { Chosen } from "./chosen.tsx";
import { Editor } from "./editor.ts";
import { Floor } from "./floor.tsx";
import { Hand } from "./hand.ts";
import { Listed } from "./listed.tsx";
import { fieldLength } from "./measure.ts";
import { isEmpty, keysOf } from "./plan.ts";
import { Checks, Earlier, HeldUp, Looking, Record } from "./record.tsx";
import { Sheet, sheetKey } from "./sheet.tsx";
import { hint, type RowsTyped } from "./strokes.ts";
import { letters, ToolLine, Tools } from "./tools.tsx";
import { Wire, type Now } from "./wire.ts";
import "./plan.css";

function Page({ e, wire }: { e: Editor; wire: Wire }): JSX.Element {
  const [, again] = useReducer((n: number, _: void) => n + 1, 0);
  const [rows, setRows] = useState<RowsTyped>({ spans: "", count: "1", apart: fieldLength(1.8, e.feet) });
  const typed = useRef(rows);
  typed.current = rows;
  const typing = useRef<HTMLInputElement | null>(null);
  const hand = useMemo(() => new Hand(e, () => typed.current), [e]);
  useEffect(() => e.listen((sheetAlone) => sheetAlone || again()), [e]); // a drag draws the sheet alone
  useEffect(() => {
    const key = (ev: KeyboardEvent): void => pageKey(e, hand, ev, () => setTimeout(() => typing.current?.focus()));
    addEventListener("keydown", key);
    return () => removeEventListener("keydown", key);
  }, [e, hand]);
  return (
    <div class="plan-page">
      <p class="past" role="status" aria-live="polite">{e.said}</p>
      <div class="plan-draw">
        <HeldUp e={e} />
        <Looking e={e} />
        <Tools e={e} />
        <p class="hint" id="plan-hint">{hint(e)}</p>
        <Sheet e={e} hand={hand} />
        <ToolLine e={e} rows={rows} setRows={setRows} typing={(el) => { typing.current = el; }} />
        <Under e={e} />
      </div>
      <div class="plan-beside">
        {isEmpty(e.plan) && e.tool === "choose" && <Begin e={e} />}
        <Chosen e={e} />
        {e.chosen.length === 0 && <Floor e={e} wire={wire} />}
        <Record e={e} />
        <Checks e={e} />
        {!isEmpty(e.plan) && <Listed e={e} />}
        <Earlier e={e} />
        {!isEmpty(e.plan) && <details><summary>Other ways in and out</summary><CopyFrom e={e} /><InAndOut e={e} /></details>}
        {isEmpty(e.plan) && <InAndOut e={e} />}
        <Keys />
      </div>
    </div>
  );
}

/** Under the sheet: what is done to the sheet, not to the plan. */
function Under({ e }: { e: Editor }): JSX.Element {
  const middle = { x: e.window.wide / 2, y: e.window.high / 2 };
  const zoom = (by: number): void => e.set({ view: { ...e.view, scale: e.view.scale * by, x: middle.x - (middle.x - e.view.x) * by, y: middle.y - (middle.y - e.view.y) * by } });
  return (
    <div class="plan-under">
      <button type="button" aria-disabled={e.undoes === undefined} title={e.undoes ? `Undo: ${e.undoes}` : "Nothing to undo"} onClick={() => e.undo()}>Undo</button>
      <button type="button" aria-disabled={e.redoes === undefined} title={e.redoes ? `Redo: ${e.redoes}` : "Nothing to do again"} onClick={() => e.redo()}>Redo</button>
      <button type="button" aria-pressed={e.several} onClick={() => e.set({ several: !e.several })}>Several</button>
      <button type="button" onClick={() => zoom(1.3)} aria-label="Larger">+</button>
      <button type="button" onClick={() => zoom(1 / 1.3)} aria-label="Smaller">−</button>
      <button type="button" onClick={() => e.fit()}>All of it</button>
      <button type="button" onClick={() => e.turn()}>Turn a quarter</button>
      <button type="button" onClick={() => e.set({ feet: !e.feet })}>{e.feet ? "In metres" : "In feet"}</button>
    </div>
  );
}

function InAndOut({ e }: { e: Editor }): JSX.Element {
  return <p><a class="word" href={`${e.now.base}/plan.csv`}>The plan as CSV</a> <a class="word" href={`${e.now.base}/plan/import`}>A plan from CSV</a> <a class="word" href={`${e.now.base}/record/plan`}>The plan as JSON</a></p>;
}

function Keys(): JSX.Element {
  return (
    <details><summary>Keys</summary>
      <table class="ruled"><tbody>
        <tr><th scope="row">{letters.map(([, l]) => l.toUpperCase()).join(" ")}</th><td>take a tool in hand, in their order; its line is ready for typing</td></tr>
        <tr><th scope="row">arrows</th><td>nudge what is chosen by 1 cm, with shift by 10; else move the sheet</td></tr>
        <tr><th scope="row">+ − 0</th><td>larger, smaller, all of it</td></tr>
        <tr><th scope="row">page up, page down</th><td>choose the thing before, the next one</td></tr>
        <tr><th scope="row">figures while you drag</th><td>the length, then Enter</td></tr>
        <tr><th scope="row">alt while you drag</th><td>snap to nothing</td></tr>
        <tr><th scope="row">delete, escape</th><td>take off what is chosen; let go</td></tr>
        <tr><th scope="row">ctrl Z, ctrl Y, ctrl A, ctrl S</th><td>undo, redo, choose all, record the plan</td></tr>
      </tbody></table>
    </details>
  );
}

/** Keys of the whole page, where nobody is typing into a field. */
function pageKey(e: Editor, hand: Hand, ev: KeyboardEvent, type: () => void): void {
  const at = ev.target as HTMLElement;
  if ((ev.ctrlKey || ev.metaKey) && ev.key.toLowerCase() === "s") {
    ev.preventDefault();
    if (e.changed) void e.record();
    return;
  }
  if (ev.key === "Escape") {
    if (at.matches("input, select")) at.blur();
    e.set(e.stroke.length ? { stroke: [] } : { tool: "choose", chosen: [], stroke: [] });
    return;
  }
  if (at.matches("input, select, textarea")) return;
  if (ev.ctrlKey || ev.metaKey) return withControl(e, ev);
  const onSheet = at.closest(".plan-sheet") !== null || at === document.body;
  if (onSheet && sheetKey(e, hand, ev)) return ev.preventDefault();
  if (ev.altKey) return;
  if (ev.key === "Delete" || (onSheet && ev.key === "Backspace")) return e.remove();
  const tool = letters.find(([, l]) => l === ev.key.toLowerCase())?.[0];
  if (!tool) return;
  ev.preventDefault();
  e.take(tool);
  if (tool !== "choose") type();
}

function withControl(e: Editor, ev: KeyboardEvent): void {
  const key = ev.key.toLowerCase();
  if (key === "z" && ev.shiftKey) e.redo();
  else if (key === "z") e.undo();
  else if (key === "y") e.redo();
  else if (key === "a") e.set({ chosen: keysOf(e.plan), tool: "choose" });
  else return;
  ev.preventDefault();
}

const patience = 3000; // ms: a crew that reads sends one record after another

/** Hears what others record meanwhile. */
function listen(e: Editor): void {
  let latest = 0, waits = false;
  new EventSource(`/api/v1${e.now.base}/live`).addEventListener("head", (ev) => {
    latest = (JSON.parse((ev as MessageEvent<string>).data) as { seq: number }).seq;
    if (waits) return;
    waits = true;
    setTimeout(() => {
      waits = false;
      void e.hear(latest);
    }, patience);
  });
}

const start = document.getElementById("plan-start"), place = document.getElementById("plan-editor");
if (start?.textContent && place) {
  const now = JSON.parse(start.textContent) as Now;
  const wire = new Wire(now.base);
  const editor = new Editor(now, sessionStorage, wire);
  void editor.check(0);
  listen(editor);
  addEventListener("beforeunload", (ev) => { if (editor.changed && !editor.keeps) ev.preventDefault(); });
  render(<Page e={editor} wire={wire} />, place);
}
