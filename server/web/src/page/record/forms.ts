// What forms are made of: the same descriptions as those of the office's pages, and
// what a filled one records.
import { ahead, stamp } from "../../shared/event.ts";
import type { Length } from "../../shared/length.ts";
import type { Item, Picture } from "../../shared/picture.ts";
import type { Office } from "../office.ts";
import { say } from "../say.ts";
import type { Outline } from "./ground.ts";
import described from "./forms.json";
import { working } from "../office";

export interface Choice {
  value: string;
  label: string;
}

export interface Field {
  name: string; // its path in the body
  label: string;
  note?: string;
  input: "words" | "text" | "length" | "number" | "whole" | "yes" | "date" | "dates" | "list" | "lines" | "numbers" | "one" | "points" | "outline" | "hidden";
  choices?: Choice[];
  from?: string; // choices that depend on the job
  need?: boolean;
  minus?: boolean;
  more?: boolean; // seldom filled in
  only?: string; // the one sort of the form that it belongs to
  or?: string; // of those with the same word one has to be filled in, or some row
  with?: string; // the field without which this one means nothing
}

export interface Rows {
  name: string;
  label: string;
  count: number;
  fields: Field[];
}

export interface Form {
  kind: string;
  verb: string;
  title: string;
  caution?: string;
  sorts?: { value: string; title: string; help: string }[];
  fields?: Field[];
  rows?: Rows;
}

const all = described as { sentences: string[]; causes: string[]; forms: Form[] };

/** As they are recorded; who shows one says it. */
export const sentences = all.sentences;
export const causes = all.causes;

/** What is recorded seldom, and has a form like the office's. */
export const formed = [
  "blocking", "blocking-removed", "change", "difference", "finding-closed", "floor-closed", "floor-cut", "handover",
  "incident", "inspection", "instrument-check", "tie", "tie-back", "tie-freed", "under-floor",
];

export function formOf(kind: string): Form {
  const form = all.forms.find((f) => f.kind === kind);
  if (!form) throw new Error(`no form of kind ${kind}`);
  return inWords(form);
}

/** What is read of a form. The rest of it is recorded, and stays as it is. */
const read = new Set(["verb", "title", "caution", "help", "label", "note"]);

/** A form in the firm's words. */
function inWords<T>(of: T): T {
  return JSON.parse(JSON.stringify(of), (key, value: unknown) => (typeof value === "string" && read.has(key) ? say(value) : value)) as T;
}

/** One field of a kind's form, for those recorders that share its words. */
export function fieldOf(kind: string, name: string): Field {
  const field = formOf(kind).fields?.find((f) => f.name === name);
  if (!field) throw new Error(`no field ${name} of kind ${kind}`);
  return field;
}

/** What goes with a kind where a slip could hurt somebody. */
export function cautionOf(kind: string): string | undefined {
  const caution = all.forms.find((f) => f.kind === kind)?.caution;
  return caution && say(caution);
}

/** What was filled in, by the name of the input; in rows that is row.field. */
export type Filled = Record<string, string | string[] | Outline | Length | boolean | undefined>;

/** The body that a filled form records. Nothing empty stands in it. */
export function bodyOf(form: Form, filled: Filled): object {
  const body: Record<string, unknown> = {};
  for (const f of fieldsOf(form, filled["sort"])) put(body, f, filled[f.name]);
  if (form.rows) {
    const rows = rowsOf(form.rows, filled);
    if (rows.length > 0) body[form.rows.name] = rows;
  }
  return body;
}

/** The fields of a form that are wanted for one of its sorts. */
export function fieldsOf(form: Form, sort: unknown): Field[] {
  const wanted = sort ?? form.sorts?.[0]?.value;
  return (form.fields ?? []).filter((f) => !f.only || f.only === wanted);
}

function rowsOf(rows: Rows, filled: Filled): object[] {
  return filledRows(rows, filled).map((at) => {
    const row: Record<string, unknown> = {};
    for (const f of rows.fields) put(row, f, filled[at + f.name]);
    return row;
  });
}

/** How the inputs of those rows begin in which something was filled in. */
function filledRows(rows: Rows, filled: Filled): string[] {
  return Array.from({ length: rows.count }, (_, i) => `${rows.name}[${i}].`).filter((at) => rows.fields.some((f) => valueOf(f, filled[at + f.name]) !== undefined));
}

/** Which fields are still wanted before it can be saved. */
export function wanting(form: Form, filled: Filled): Field[] {
  const rows = form.rows ? filledRows(form.rows, filled) : [];
  const fields = wantingOf(fieldsOf(form, filled["sort"]), filled, "", rows.length > 0);
  return [...fields, ...rows.flatMap((at) => wantingOf(form.rows!.fields, filled, at, false))];
}

function wantingOf(fields: Field[], filled: Filled, at: string, rows: boolean): Field[] {
  const has = (f: Field) => valueOf(f, filled[at + f.name]) !== undefined;
  const said = new Set(fields.filter(has).flatMap((f) => f.or ?? []));
  const named = new Set(fields.filter(has).flatMap((f) => f.with ?? []));
  return fields.filter((f) => !has(f) && (f.need || named.has(f.name) || (f.or && !rows && !said.has(f.or))));
}

function put(body: Record<string, unknown>, f: Field, filled: Filled[string]): void {
  const value = valueOf(f, filled);
  if (value === undefined) return;
  const path = f.name.split(".");
  let at = body;
  for (const part of path.slice(0, -1)) at = (at[part] ??= {}) as Record<string, unknown>;
  at[path.at(-1)!] = value;
}

/** The value of a field as it stands in a body; undefined where there is none. */
function valueOf(f: Field, filled: Filled[string]): unknown {
  if (filled === undefined || filled === false || (Array.isArray(filled) && filled.length === 0)) return undefined;
  if (typeof filled !== "string") return filled;
  const text = filled.trim();
  if (text === "") return undefined;
  switch (f.input) {
    case "number":
    case "whole":
      return numberOf(text);
    case "numbers":
      return parts(text, ",").map(numberOf).filter((n) => n !== undefined);
    case "list":
    case "dates":
      return parts(text, ",");
    case "lines":
      return parts(text, "\n");
    default:
      return text;
  }
}

function numberOf(text: string): number | undefined {
  const n = Number(text.replace(",", "."));
  return Number.isFinite(n) ? n : undefined;
}

function parts(text: string, between: string): string[] {
  return text.split(between).map((s) => s.trim()).filter(Boolean);
}

/** What a source offers now. */
export function choicesOf(from: string, p: Picture, office: Office | undefined): Choice[] {
  const supports = p.supports.filter((s) => !s.none_here).map((s) => same(s.id));
  switch (from) {
    case "supports": return supports;
    case "places": return [...supports, ...(p.spots ?? []).map((s) => same(s.id))];
    case "findings": return open(p.lists.findings);
    case "changes": return open(p.lists.changes);
    case "stops": return open(p.stops);
    case "all-changes": return [...(p.changes ?? [])].reverse().map((c) => ({ value: c.id, label: `${c.text}, ${c.state}` }));
    case "ties": return named(p.lists.ties);
    case "cuts": return named(p.lists.cuts);
    case "rooms": return (p.plan.rooms ?? []).map((r) => same(r.name));
    case "people": return working(office).map((x) => ({ value: x.id, label: x.name }));
    case "gaps": return (p.gaps ?? []).map((g) => same(g.name));
    case "instruments": return [...new Set([...(p.instruments ?? []).map((i) => i.name), ...(office?.lasers ?? []).map((l) => l.name)])].map(same);
    case "blockings": return (p.blockings ?? []).map((b) => ({ value: b.place, label: `${b.place}, under ${b.supports.join(", ")}` }));
    case "causes": return causes.map(same);
    default: return [];
  }
}

const same = (value: string): Choice => ({ value, label: value });

function open(list: Item[] | undefined): Choice[] {
  return (list ?? []).filter((i) => i.open).map((i) => ({ value: i.id, label: i.text }));
}

/** Ties and cuts by their names, those still open first: a tie that was freed is
 *  still to be put back, and a cut covered for the night is still to be closed. */
function named(list: Item[] | undefined): Choice[] {
  const last = [...new Map((list ?? []).filter((i) => i.name).map((i) => [i.name!, i])).values()];
  return [...last.filter((i) => i.open), ...last.filter((i) => !i.open)].map((i) => ({ value: i.name!, label: `${i.name}: ${i.text}${i.closed ? `, ${i.closed}` : ""}` }));
}

/** Today as the site has it. */
export function today(zone: string | undefined, now = Date.now()): string {
  return stamp(now, ahead(now, zone)).slice(0, 10);
}
