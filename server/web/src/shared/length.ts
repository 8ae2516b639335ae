// Lengths as they are read: with their unit, which is kept.

export type Unit = "mm" | "cm" | "m" | "in" | "ft";

export interface Length {
  value: number;
  unit: Unit;
}

const inMM: Record<Unit, number> = { mm: 1, cm: 10, m: 1000, in: 25.4, ft: 304.8 };

export function toMM(l: Length): number {
  return l.value * inMM[l.unit];
}

export function fromMM(mm: number, unit: Unit): number {
  return mm / inMM[unit];
}

const minus = "−";

/** What a firm's screens show: whole millimetres, sixteenths of an inch, hundredths of
 *  a foot. */
export type Shown = "mm" | "in" | "ft";

/** A length as the server's screens write it (levelling.Unit.Show): what is no nought
 *  in whole millimetres is none in a coarser unit either, because nought says level. */
export function show(mm: number, unit: Shown): string {
  const text = size(Math.abs(mm), unit);
  return mm < 0 && !isNought(text) ? minus + text : text;
}

/** The same with its unit. */
export function showWith(mm: number, unit: Shown): string {
  return show(mm, unit) + (unit === "in" ? "" : ` ${unit}`);
}

/** A change, with its sign. */
export function signed(mm: number, unit: Shown): string {
  const text = size(Math.abs(mm), unit);
  return isNought(text) ? text : (mm < 0 ? minus : "+") + text;
}

/** A standard deviation, never less than the unit can show. */
export function plusMinus(sd: number, unit: Shown): string {
  return `±${size(Math.max(sd, smallest[unit]), unit)}`;
}

const smallest: Record<Shown, number> = { mm: 1, in: 25.4 / 16, ft: 3.048 };

function isNought(text: string): boolean {
  return /^[0.″]*$/.test(text);
}

/** Half up. */
function size(mm: number, unit: Shown): string {
  const whole = Math.floor(mm + 0.5);
  if (unit === "in") return inches(steps((mm / 25.4) * 16), whole);
  if (unit === "ft") {
    const hundredths = steps((mm / 304.8) * 100);
    return hundredths === 0 && whole !== 0 ? "<0.01" : (hundredths / 100).toFixed(2);
  }
  return String(whole).replace(/\B(?=(\d{3})+$)/g, "\u2009");
}

/** A quotient that is a half but for its last bits counts as one. */
function steps(x: number): number {
  return Math.floor(x + 1e-9 + 0.5);
}

function inches(sixteenths: number, whole: number): string {
  if (sixteenths === 0 && whole !== 0) return "<1⁄16″";
  const inch = Math.floor(sixteenths / 16);
  const part = fraction(sixteenths % 16);
  if (!part) return `${inch}″`;
  return `${inch ? `${inch} ` : ""}${part}″`;
}

/** Sixteenths in lowest terms: 6 is ⅜ written 3⁄8. */
export function fraction(sixteenths: number): string {
  if (sixteenths === 0) return "";
  let over = 16;
  let n = sixteenths;
  while (n % 2 === 0) {
    n /= 2;
    over /= 2;
  }
  return `${n}⁄${over}`;
}
