// Our own keypad: large, with a sign, because a phone's number pad has none.
import type { ComponentChildren } from "preact";
import { useEffect } from "preact/hooks";
import { lengthOf, nothing, partKey, press, shown, type Key, type Typed } from "../typed.ts";
import type { Unit } from "../../shared/length.ts";
import { Act } from "./act.tsx";
import "./keypad.css";

const units: Unit[] = ["mm", "in", "ft"];

/** What is typed into, and the figure. */
export function Entry(p: { of: Typed; name: string; label: string; plain?: boolean }) {
  return (
    <div class="entry">
      <span class="of">{p.name}</span>
      <Figure of={p.of} label={p.label} unit={p.plain ? "" : p.of.unit} />
    </div>
  );
}

/** The figure as it is typed, in large digits; what was kept of the reading before
 *  is lighter, and what is still to be typed is blank. */
function Figure(p: { of: Typed; label: string; unit: string }) {
  const s = shown(p.of);
  const said = lengthOf(p.of);
  return (
    <output class="figure" aria-label={`${p.label}: ${said ? `${said.value} ${p.unit}`.trim() : "not typed yet"}`}>
      <span aria-hidden="true">
        {s.sign}
        <span class="kept">{s.kept}</span>
        {s.digits}
        {"\u2007".repeat(s.blanks).split("").map((b, i) => <span key={i} class="blank">{b}</span>)}
        {s.rest}
        <span class="unit"> {p.unit}</span>
      </span>
    </output>
  );
}

interface Props {
  of: Typed;
  typed: (t: Typed) => void;
  sign?: boolean; // whether it can be below zero
  plain?: boolean; // a figure without a unit
  done: () => unknown; // Enter of a real keyboard
  children?: ComponentChildren; // what is saved with
}

/** Keypad types into a figure. */
export function Keypad(p: Props) {
  const key = (k: Key) => p.typed(press(p.of, k));
  useEffect(() => {
    const typed = (e: KeyboardEvent) => {
      if (e.target instanceof HTMLInputElement || e.target instanceof HTMLTextAreaElement || e.ctrlKey || e.metaKey || e.altKey) return;
      const k = keyOf(e.key, p.of.unit, p.sign ?? false);
      if (k) key(k);
      else if (e.key === "Enter" && !(e.target instanceof HTMLButtonElement)) void p.done();
      else return;
      e.preventDefault();
    };
    addEventListener("keydown", typed);
    return () => removeEventListener("keydown", typed);
  });
  const part = partKey(p.of.unit);
  return (
    <div class="keypad" role="group" aria-label="Keypad">
      {["1", "2", "3"].map(digit)}
      <Act do={() => key("⌫")} label="Take the last digit back">⌫</Act>
      {["4", "5", "6"].map(digit)}
      {p.sign ? <Act do={() => key("±")} label="Other sign" on={p.of.minus}>±</Act> : <span />}
      {["7", "8", "9"].map(digit)}
      <Act do={() => key(part)} label={{ "½": "and a half", "⁄16": "sixteenths follow", ".": "point" }[part as "½"]} on={part === "½" ? p.of.half : undefined}>{part}</Act>
      {p.plain ? <span /> : <Act do={() => p.typed(nothing(nextUnit(p.of.unit)))} label={`Unit: ${p.of.unit}, change it`} sort="quiet">{p.of.unit}</Act>}
      {digit("0")}
      <div class="done">{p.children}</div>
    </div>
  );

  function digit(d: string) {
    return <Act key={d} do={() => key(d as Key)}>{d}</Act>;
  }
}

function nextUnit(u: Unit): Unit {
  return units[(units.indexOf(u) + 1) % units.length]!;
}

function keyOf(typed: string, unit: Unit, sign: boolean): Key | undefined {
  if (/^[0-9]$/.test(typed)) return typed as Key;
  if (typed === "Backspace") return "⌫";
  if (typed === "-" && sign) return "±";
  if (typed === "." || typed === "," || typed === "/") return partKey(unit);
  return undefined;
}
