// Prints what the recorders would record on a job: for each kind a body that says
// all it can, and one that says no more than it must. The job's picture comes on
// standard input; a test in Go reads the answer.
import { readFileSync } from "node:fs";
import type { Length } from "../shared/length.ts";
import type { Picture } from "../shared/picture.ts";
import type { Office } from "../page/office.ts";
import { foundBeside, shownAt, type What } from "../page/record/beside.ts";
import { bodyFor, conditionOf, dayEndOf, gapOf, parts, safetyCheckOf, type Bodies, type Said, type Step } from "../page/record/bodies.ts";
import { between } from "../page/record/ground.ts";
import { bodyOf, choicesOf, fieldsOf, formed, formOf, sentences, wanting, type Choice, type Field, type Filled, type Form } from "../page/record/forms.ts";

interface Given {
  picture: Picture;
  office: Office;
  reading: string; // the id of one that counts
}

const { picture, office, reading } = JSON.parse(readFileSync(0, "utf8")) as Given;

const mm = (value: number): Length => ({ value, unit: "mm" });
const inches: Length = { value: 3.25, unit: "in" };
const [one, two] = picture.supports.map((s) => s.id) as [string, string];
const person = office.people[0]!;
const setup = picture.setups![0]!.id;
const firstOf = (from: string) => choicesOf(from, picture, office)[0]!.value;

const own: { [K in keyof Bodies]: Bodies[K][] } = {
  "found": (["next", "here", "none", "end", "spot"] as What[]).flatMap((what) => picture.supports.map((s) => foundBeside(picture, s, what)))
    .concat(foundBeside(picture, picture.supports[0], "next", 2.4), foundBeside(picture, undefined, "here"), shownAt(foundBeside(picture, picture.supports[0], "spot"), [1.25, -0.4])),
  "condition": [
    conditionOf("kitchen", Object.fromEntries(Object.entries(parts).map(([part, words]) => [part, [...words]])) as Said, "an old crack over the door", "the owner"),
    conditionOf("hall", {}, "", ""),
  ],
  "safety-check": [
    safetyCheckOf(sentences, Object.fromEntries(sentences.map((s) => [s, "AB"])), person.name, ["power", "gas"]),
    safetyCheckOf(sentences, { [sentences[0]!]: "AB" }, "", []),
  ],
  "finding": [
    { what: "sheet packing", how_bad: "badly", where: "hall", cause: "rot", supports: [one, two], owner: person.id, trade: "plumber", by: "2026-03-09" },
    { what: "can’t get to it", how_bad: "", cause: "", supports: [], trade: "" },
  ],
  "support-work": [
    ...(["taken-out", "dug", "seen-by-inspector", "poured", "set", "capped", "old-packing-out"] as Step[]).map((step) => ({ support: one, step })),
    { support: one, step: "fixed", how: "strap" },
    { support: one, step: "carries-from", from: "2026-03-09", set_by: person.id },
  ],
  "setup": [
    { instrument: "site laser", method: "eye", sd_mm_per_m: 0.05, stand: [1.8, 0], datums: picture.datums!.map((d) => ({ datum: d.id, staff: inches })) },
    { instrument: "site laser", method: undefined, sd_mm_per_m: undefined, datums: [{ datum: picture.datums![0]!.id, staff: mm(-1200.5) }] },
  ],
  "setup-closed": [{ setup, datums: [{ datum: picture.datums![0]!.id, staff: mm(1400) }] }],
  "reading": [
    { setup, point: one, face: "floor", staff: mm(1412), surface: "boards" },
    { setup, point: one, face: "bearer", staff: inches, surface: "" },
    { setup, point: one, face: "support", not_read: "no line of sight" },
  ],
  "jacking": [
    { moves: [{ support: one, by: mm(4), gauge: "dial", jack: "J1", rated_kn: 100, bore_mm: 45, pressure_mpa: 12.5, beside: "street side" }, { support: two, by: mm(-2.5), gauge: "turns" }] },
    { moves: [{ support: one, by: inches, gauge: "rule" }] },
  ],
  "packing": [
    { support: one, sort: "temporary", gap: undefined },
    { support: one, sort: "temporary", gap: mm(6) },
    { support: one, sort: "final", gap: mm(12), pieces: [{ thickness: mm(10), material: "hardwood" }, { thickness: mm(2) }], full_width: true },
    { support: one, sort: "final", gap: undefined, pieces: [{ thickness: inches }], full_width: undefined },
  ],
  "jack-down": [{ support: one }],
  "signed": [{ support: one, reading }, { support: one, reading, blocking_stays: "the engineer wants it so" }, { room: picture.plan.rooms![0]!.name }, { floor: true }],
  "gap-reading": [
    gapOf(picture, picture.gaps![0], { what: "crack", width: mm(4.5), watch: mm(6), supports: [one] }),
    gapOf(picture, undefined, { what: "tile-joint", width: inches, watch: undefined, near: "hall", supports: [] }),
  ],
  "change-answered": [true, false].map((accepted) => ({ change: firstOf("changes"), accepted, name: "the owner", how: "by phone" })),
  "stop": [{ why: "something cracks", ask: "the engineer", supports: [one, two] }, { why: "stop", ask: person.name, ask_of: person.id, supports: [] }],
  "go-ahead": [{ stop: firstOf("stops"), who: person.name, why: "looked at" }, { stop: firstOf("stops"), who: person.name, who_of: person.id, why: "" }],
  "day-end": [dayEndOf(picture.left!, "covered it", true, true), dayEndOf([], "", false, false)],
  "note": [{ text: "said", supports: [one], answers: picture.proposals![0]!.id }, { text: " ", supports: [], answers: undefined }],
  "void": [{ event: reading, why: "taken back at once" }],
};

/** What can be filled into a form and then be saved: what is needed, with one field
 *  more, and with all of them, once with each of the choices that there are; the same
 *  for each of its sorts. */
function filledIn(form: Form): Filled[] {
  return (form.sorts ?? [{ value: undefined }]).flatMap((sort) => {
    const fields = fieldsOf(form, sort.value);
    const rows = form.rows?.fields ?? [];
    const row = form.rows ? `${form.rows.name}[0].` : "";
    const all = (turn: number) => ({ sort: sort.value, ...filled(fields, turn), ...filled(rows, turn, row) });
    const turns = Math.max(...[...fields, ...rows].map((f) => choices(f).length), 1);
    const needed = { sort: sort.value, ...filled(fields, 0, "", (f) => f.need === true) };
    const more = Object.entries(all(0)).map(([name, value]) => ({ ...needed, [name]: value }));
    return [needed, ...more, ...Array.from({ length: turns }, (_, turn) => all(turn))].filter((f) => wanting(form, f).length === 0);
  });
}

function filled(fields: Field[], turn: number, prefix = "", wanted = (_: Field) => true): Filled {
  return Object.fromEntries(fields.flatMap((f, i) => (f.input === "hidden" || !wanted(f) ? [] : [[prefix + f.name, sample(f, turn, i)]])));
}

function choices(f: Field): Choice[] {
  if (f.from === "readings") return [{ value: reading, label: "" }];
  return f.choices ?? (f.from ? choicesOf(f.from, picture, office) : []);
}

function sample(f: Field, turn: number, i: number): Filled[string] {
  const offered = choices(f);
  if (f.input === "one" && offered.length === 0) throw new Error(`nothing to choose for ${f.name}`);
  switch (f.input) {
    case "points": return [one, two];
    case "outline": return between([0.5, 1], [1.1, 1.9]);
    case "length": return mm(4.5);
    case "yes": return true;
    case "number":
    case "whole": return String(10 + 5 * i);
    case "numbers": return "9000, 4500";
    case "date": return "2026-03-02";
    case "dates": return "2026-03-02, 2027-03-02";
    case "list": return "boards, sheet";
    case "lines": return "one\ntwo";
    default: return offered[(turn + i) % offered.length]?.value ?? "some words";
  }
}

const samples = [
  ...(Object.entries(own) as [keyof Bodies, Bodies[keyof Bodies][]][]).flatMap(([kind, list]) => list.map((said) => ({ kind, body: bodyFor(kind, said) }))),
  ...formed.flatMap((kind) => filledIn(formOf(kind)).map((f) => ({ kind, body: bodyOf(formOf(kind), f) }))),
];
process.stdout.write(JSON.stringify(samples));
