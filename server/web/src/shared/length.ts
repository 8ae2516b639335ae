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

/** Whole millimetres, or sixteenths of an inch where the screen shows inches. */
export function show(mm: number, unit: Unit): string {
  return unit === "in" || unit === "ft" ? inches(mm) : whole(mm);
}

/** A change, with its sign. */
export function signed(mm: number, unit: Unit): string {
  const text = show(mm, unit);
  return text === "0" || text === "0″" || text.startsWith(minus) ? text : `+${text}`;
}

/** Half up on the magnitude, as the server's screens do. */
export function whole(mm: number): string {
  const n = Math.floor(Math.abs(mm) + 0.5);
  const text = String(n).replace(/\B(?=(\d{3})+$)/g, "\u2009");
  return n !== 0 && mm < 0 ? minus + text : text;
}

export function inches(mm: number): string {
  const n = Math.floor(Math.abs(mm / 25.4) * 16 + 0.5);
  const sign = n !== 0 && mm < 0 ? minus : "";
  const inch = Math.floor(n / 16);
  const part = fraction(n % 16);
  if (!part) return `${sign}${inch}″`;
  return `${sign}${inch ? `${inch} ` : ""}${part}″`;
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
