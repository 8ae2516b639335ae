// Lengths on a plan as somebody types them and as they are shown: metres, or feet
// and inches. What is typed may always name its own unit.
import { round } from "./geometry.ts";

const inFoot = 0.3048;

const decimals = "(\\d+(?:[.,]\\d+)?|[.,]\\d+)";
const metric = new RegExp(`^([-−+]?)${decimals}\\s*(mm|cm|m)?$`);
const imperial = new RegExp(`^([-−+]?)(?:${decimals}\\s*(?:'|′|ft))?\\s*(?:${decimals})?\\s*(?:(\\d+)[/⁄](\\d+))?\\s*("|″|in)?$`);

/** Metres, or undefined where it is no length. */
export function parseLength(text: string, feet: boolean): number | undefined {
  const t = text.trim().toLowerCase();
  if (t === "") return undefined;
  const m = metric.exec(t);
  if (m) return signOf(m[1]) * number(m[2]) * unitOf(m[3], feet);
  const f = imperial.exec(t);
  if (!f || (!f[2] && !f[6])) return undefined; // a figure without a mark is no inch
  const part = f[4] && f[5] && Number(f[5]) !== 0 ? Number(f[4]) / Number(f[5]) : 0;
  const inches = number(f[3]) + part;
  return signOf(f[1]) * (number(f[2]) * inFoot + (inches * inFoot) / 12);
}

function number(text: string | undefined): number {
  return text ? Number(text.replace(",", ".")) : 0;
}

function signOf(text: string | undefined): number {
  return text === "-" || text === "−" ? -1 : 1;
}

function unitOf(name: string | undefined, feet: boolean): number {
  switch (name) {
    case "mm": return 0.001;
    case "cm": return 0.01;
    case "m": return 1;
    default: return feet ? inFoot : 1;
  }
}

/** A length as it stands on the drawing: "1.50", or 4′ 11″. */
export function showLength(metres: number, feet: boolean): string {
  if (!feet) return digits(metres);
  const inches = Math.round(Math.abs(metres / inFoot) * 24) / 2;
  const [ft, inch] = [Math.floor(inches / 12), inches % 12];
  const sign = metres < 0 && inches > 0 ? "−" : "";
  return sign + (ft === 0 ? `${inch}″` : inch === 0 ? `${ft}′` : `${ft}′ ${inch}″`);
}

/** Two decimals, and a third where it says something. */
function digits(metres: number): string {
  const r = round(metres);
  const text = Math.abs(r * 100 - Math.round(r * 100)) < 1e-6 ? r.toFixed(2) : r.toFixed(3);
  return text.replace("-", "−");
}

/** A length as it stands in a field, to be typed over. */
export function fieldLength(metres: number, feet: boolean): string {
  return feet ? showLength(metres, true).replace("−", "-") : String(round(metres));
}

/** What is wrong with a typed list, for people. */
export class Untold extends Error {}

const most = 200;

/** Supports along a bearer as they are typed: "7 x 1.5" is seven supports 1.5 apart,
 *  "1.2 1.4 1.5" three spans, one after another; both may be mixed with ";". Returns
 *  the distance of every support from the first. */
export function parseSpans(text: string, feet: boolean): number[] {
  const t = text.trim();
  if (t === "") throw new Untold("say how many and how far apart: 7 x 1.5, or the spans one by one: 1.2 1.4 1.5");
  const times = /^(\d+)\s*[x×*@]\s*(.+)$/i.exec(t);
  const spans = times ? evenly(Number(times[1]), times[2]!, feet) : listed(t, feet);
  if (spans.length + 1 > most) throw new Untold(`at most ${most} on one bearer`);
  let at = 0;
  return [0, ...spans.map((s) => (at = round(at + s)))];
}

function evenly(count: number, apart: string, feet: boolean): number[] {
  const span = parseLength(apart, feet);
  if (span === undefined || span <= 0) throw new Untold(`how far apart: "${apart.trim()}" is no length`);
  if (count < 1 || count > most) throw new Untold(`from 1 to ${most} on one bearer`);
  return Array.from({ length: count - 1 }, () => span);
}

function listed(text: string, feet: boolean): number[] {
  const words = text.includes(";") ? text.split(";") : text.match(/\d+(?:[.,]\d+)?\s*(?:mm|cm|m\b)|\d+\s*(?:'|′|ft)(?:\s*\d+(?:[.,]\d+)?\s*(?:"|″|in))?|\S+/gi) ?? [];
  return words.map((w) => {
    const span = parseLength(w, feet);
    if (span === undefined || span <= 0) throw new Untold(`"${w.trim()}" is no span: 1.2 1.4 1.5, or 7 x 1.5`);
    return span;
  });
}
