// What was typed on the keypad, before it is a length. A staff reading keeps the
// hundreds of the one before, or its whole feet, since nobody types four digits on his
// back; the last two are always typed.
import { fraction, type Length, type Unit } from "../shared/length.ts";

export interface Typed {
  unit: Unit;
  minus: boolean;
  kept: string; // the hundreds of the reading before, or its feet; then two digits are wanted
  digits: string;
  half: boolean; // mm: half a millimetre more
  parts: string | undefined; // cm, m, ft: decimals; in: sixteenths; undefined: none are typed
}

export type Key = "0" | "1" | "2" | "3" | "4" | "5" | "6" | "7" | "8" | "9" | "±" | "½" | "." | "⁄16" | "⌫";

const blank = 2; // digits that are always typed after kept ones
const mostDigits = 6;
const mostDecimals = 4;

/** Nothing typed yet. */
export function nothing(unit: Unit, before?: Length): Typed {
  const typed: Typed = { unit, minus: false, kept: "", digits: "", half: false, parts: undefined };
  if (!before || before.unit !== unit || (unit !== "mm" && unit !== "ft")) return typed;
  const kept = Math.trunc(Math.abs(before.value) / (unit === "mm" ? 100 : 1));
  if (kept === 0) return typed;
  return { ...typed, minus: before.value < 0, kept: String(kept), parts: unit === "ft" ? "" : undefined };
}

/** How many digits are still wanted after those that were kept. */
function blanksOf(t: Typed): number {
  return t.kept ? Math.max(blank - (t.unit === "ft" ? t.parts ?? "" : t.digits).length, 0) : 0;
}

/** The keys that a unit has beside digits, sign and the way back. */
export function partKey(unit: Unit): Key {
  if (unit === "mm") return "½";
  return unit === "in" ? "⁄16" : ".";
}

/** One key. A key that makes no sense changes nothing. */
export function press(t: Typed, key: Key): Typed {
  switch (key) {
    case "±":
      return { ...t, minus: !t.minus };
    case "½":
      return { ...t, half: !t.half };
    case ".":
    case "⁄16":
      return t.parts === undefined ? { ...t, parts: "" } : t;
    case "⌫":
      return takeBack(t);
    default:
      return digit(t, key);
  }
}

function digit(t: Typed, d: string): Typed {
  if (t.parts !== undefined) {
    const parts = t.parts + d;
    const most = t.unit === "in" ? Number(parts) <= 15 && parts.length <= 2 : parts.length <= mostDecimals;
    return most ? { ...t, parts } : t;
  }
  const most = t.kept ? blank : mostDigits;
  return t.digits.length < most ? { ...t, digits: t.digits + d } : t;
}

/** Takes the last thing back; kept digits go one by one, too. */
function takeBack(t: Typed): Typed {
  if (t.half) return { ...t, half: false };
  if (t.parts) return { ...t, parts: t.parts.slice(0, -1) };
  if (t.kept && t.parts !== undefined) return { ...t, kept: "", digits: t.kept.slice(0, -1), parts: undefined };
  if (t.parts !== undefined) return { ...t, parts: undefined };
  if (t.digits) return { ...t, digits: t.digits.slice(0, -1) };
  if (t.kept) return { ...t, kept: "", digits: t.kept.slice(0, -1) };
  return { ...t, minus: false };
}

/** The length, or undefined while digits are wanting. */
export function lengthOf(t: Typed): Length | undefined {
  const wanting = t.kept ? blanksOf(t) > 0 : t.digits === "" && !t.parts && !t.half;
  if (wanting) return undefined;
  const whole = Number((t.kept + t.digits) || "0");
  const value = whole + (t.half ? 0.5 : 0) + partOf(t);
  return { value: t.minus && value !== 0 ? -value : value, unit: t.unit };
}

function partOf(t: Typed): number {
  if (!t.parts) return 0;
  return t.unit === "in" ? Number(t.parts) / 16 : Number(`0.${t.parts}`);
}

/** How it stands on the screen: sign, kept digits, typed ones, blanks, the rest. */
export function shown(t: Typed): { sign: string; kept: string; digits: string; blanks: number; rest: string } {
  const rest = t.half ? "½" : t.parts === undefined ? "" : t.unit === "in" ? ` ${t.parts === "" ? "…⁄16" : fraction(Number(t.parts)) || "0"}` : `.${t.parts}`;
  const sign = t.minus ? "−" : "";
  if (t.kept && t.unit === "ft") return { sign, kept: `${t.kept}.`, digits: t.parts ?? "", blanks: blanksOf(t), rest: "" };
  const blanks = t.kept ? blanksOf(t) : t.digits || rest ? 0 : 1;
  return { sign, kept: t.kept, digits: t.digits, blanks, rest };
}
