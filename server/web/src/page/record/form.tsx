// A form for what is recorded seldom, made from its description.
import { useState } from "preact/hooks";
import type { Stage } from "../../shared/event.ts";
import type { Taken } from "../../shared/kept.ts";
import { show, type Length } from "../../shared/length.ts";
import type { Picture } from "../../shared/picture.ts";
import { go } from "../route.ts";
import { lengthOf, nothing, type Typed } from "../typed.ts";
import { Act, Words } from "../ui/act.tsx";
import { useAnswer, useApp } from "../ui/app.tsx";
import { AskBefore } from "../ui/askbefore.tsx";
import { Camera } from "../ui/camera.tsx";
import { Frame } from "../ui/frame.tsx";
import { Entry, Keypad } from "../ui/keypad.tsx";
import { counted } from "./bodies.ts";
import { bodyOf, choicesOf, fieldsOf, formOf, today, wanting, type Choice, type Field, type Filled, type Form } from "./forms.ts";
import type { Outline } from "./ground.ts";
import { OutlineInput } from "./outline.tsx";
import { comeBack, type Recording } from "./recording.ts";
import { usualStage } from "./stage.ts";

const farBack = 2000; // lines of the book

/** What is given a name when it is recorded, so that it can be closed by it later. */
const named: Record<string, { field: string; next: (p: Picture) => string }> = {
  "tie": { field: "tie", next: (p) => counted("T", (p.lists.ties ?? []).map((t) => t.name)) },
  "floor-cut": { field: "cut", next: (p) => counted("C", (p.lists.cuts ?? []).map((c) => c.name)) },
  "blocking": { field: "place", next: (p) => counted("K", (p.blockings ?? []).map((b) => b.place)) },
};

/** The recorder of a kind that has only its form. */
export function formFor(kind: string): (p: Recording) => preact.JSX.Element {
  return (p) => <Filling {...p} form={formOf(kind)} />;
}

function Filling(p: Recording & { form: Form }) {
  const app = useApp();
  const { form } = p;
  const back = app.cameBack<Filled>();
  const [filled, setFilled] = useState<Filled>(() => back ?? given(form, p, app.job(p.book.job)?.zone));
  const [shots, setShots] = useState<Taken[]>([]);
  const [more, showMore] = useState(false);
  const [typing, type] = useState(fieldsOf(form, undefined).find((f) => f.input === "length")?.name);
  const fields = fieldsOf(form, filled["sort"]).filter((f) => f.input !== "hidden");
  const missing = wanting(form, filled);
  const fill = (name: string, value: Filled[string]) => setFilled((was) => ({ ...was, [name]: value }));
  const save = async () => {
    if (await app.record(p.book.job, form.kind, bodyOf(form, filled), shots)) go(comeBack(p), true);
  };
  const readings = useReadings(p, form);
  const choices = (f: Field, prefix: string) => {
    if (f.from === "readings") return readings.filter((r) => r.point === filled[`${prefix}point`]);
    return f.choices ?? (f.from ? choicesOf(f.from, p.picture, app.office) : []);
  };
  const draw = (f: Field, prefix = "") => {
    const name = prefix + f.name;
    return <Input key={name} of={f} value={filled[name]} where={wordsOf(filled["where"])} choices={choices(f, prefix)} fill={(v) => fill(name, v)} typing={typing === name} type={() => type(name)} />;
  };
  const subject = p.query.get("support") ?? subjectOf(filled);
  const sort = form.sorts?.find((s) => s.value === (filled["sort"] ?? form.sorts?.[0]?.value));
  return (
    <Frame title={sort?.title ?? form.title} back={comeBack(p)} picture={p.picture}>
      {form.kind === "floor-cut" ? <AskBefore picture={p.picture} /> : null}
      {form.sorts ? <Words label="How" of={form.sorts.map((s) => ({ value: s.value, label: s.title }))} chosen={[sort!.value]} choose={(v) => fill("sort", v)} /> : null}
      {sort ? <p class="note">{sort.help}</p> : null}
      {fields.filter((f) => !seldom(f)).map((f) => draw(f))}
      {form.rows ? <RowsOf of={form} draw={draw} /> : null}
      {fields.some(seldom) ? <Act sort="quiet" on={more} do={() => showMore(!more)}>More</Act> : null}
      {more ? fields.filter(seldom).map((f) => draw(f)) : null}
      <Camera shots={shots} change={setShots} subject={subject} stage={stageOf(form.kind, p.picture, subject)} typed={filled} />
      {form.caution ? <p class="note">{form.caution}</p> : null}
      <Act sort="main" disabled={missing.length > 0} do={save}>{missing.length > 0 ? `Still wanted: ${missing[0]!.label.toLowerCase()}` : "Save"}</Act>
    </Frame>
  );
}

/** What a desk types is shown here by a finger, and that is quick. */
const seldom = (f: Field) => f.more === true && f.input !== "outline";

const wordsOf = (filled: Filled[string]) => (typeof filled === "string" ? filled : "");

/** What a photo is of: what has a name of its own, else the place. */
function subjectOf(filled: Filled): string | undefined {
  return ["cut", "tie", "place", "where"].map((name) => wordsOf(filled[name])).find(Boolean);
}

/** When in the work a photo is taken that goes with a kind. */
function stageOf(kind: string, p: Picture, subject: string | undefined): Stage {
  return stages[kind] ?? usualStage(p, subject ?? "");
}

const stages: Record<string, Stage> = {
  "tie": "before", "tie-freed": "during", "tie-back": "after", "floor-cut": "during", "floor-closed": "after", "finding-closed": "after", "blocking": "during", "blocking-removed": "after", "handover": "after",
};

function RowsOf(p: { of: Form; draw: (f: Field, prefix: string) => preact.JSX.Element }) {
  const [shown, show] = useState(1);
  const rows = p.of.rows!;
  return (
    <>
      <h2>{rows.label}</h2>
      {Array.from({ length: shown }, (_, i) => <fieldset key={i} class="row">{rows.fields.map((f) => p.draw(f, `${rows.name}[${i}].`))}</fieldset>)}
      {shown < rows.count ? <Act sort="quiet" do={() => show(shown + 1)}>One more</Act> : null}
    </>
  );
}

/** The readings that a form can rest on, the latest first. */
function useReadings(p: Recording, form: Form): (Choice & { point: string | undefined })[] {
  const { unit } = useApp();
  const asked = form.rows?.fields.some((f) => f.from === "readings") ?? false;
  const { value } = useAnswer(async () => (asked ? p.book.lines(farBack) : []), [p.book.version, asked]);
  return (value ?? []).filter((l) => l.kind === "reading" && l.staff_mm !== undefined && !l.voided && !l.aside).reverse()
    .map((l) => ({ value: l.id, label: show(l.staff_mm!, unit), point: l.points?.[0] }));
}

/** What the address says already, a name that is free, and today where a date is wanted. */
function given(form: Form, p: Recording, zone: string | undefined): Filled {
  const filled: Filled = {};
  if (form.kind in named) filled[named[form.kind]!.field] = named[form.kind]!.next(p.picture);
  for (const f of form.fields ?? []) {
    const asked = p.query.get(f.name);
    if (f.input === "points") filled[f.name] = [...new Set([...p.query.getAll(f.name), ...p.query.getAll("support")])];
    else if (asked !== null) filled[f.name] = f.input === "yes" ? true : asked;
    else if (f.input === "date" && f.need) filled[f.name] = today(zone);
  }
  if (form.sorts) filled["sort"] = form.sorts[0]!.value;
  return filled;
}

interface InputProps {
  of: Field;
  value: Filled[string];
  where: string; // in which room, by what is filled in
  choices: Choice[];
  fill: (v: Filled[string]) => void;
  typing: boolean; // the keypad types into this one
  type: () => void;
}

function Input(p: InputProps) {
  const { of: f, value, fill } = p;
  const text = typeof value === "string" ? value : "";
  switch (f.input) {
    case "yes":
      return <Act on={value === true} do={() => fill(value !== true)}>{f.label}</Act>;
    case "one":
      return <Named of={f}>{p.choices.length === 0 ? <p class="note">There is none.</p> : <Words small label={f.label} of={p.choices} chosen={[text]} choose={(v) => fill(v === text ? undefined : v)} />}</Named>;
    case "points":
      return <Points {...p} />;
    case "outline":
      return <OnPlan {...p} />;
    case "length":
      return <LengthInput {...p} value={value as Length | undefined} />;
    case "number":
    case "whole":
      return <NumberInput {...p} text={text} />;
    case "date":
      return <label class="field">{f.label}<input type="date" value={text} onInput={(e) => fill(e.currentTarget.value)} /></label>;
    default:
      return <WordsInput {...p} text={text} />;
  }
}

function Named(p: { of: Field; children: preact.ComponentChildren }) {
  return (
    <>
      <h2>{p.of.label}</h2>
      {p.of.note ? <p class="note">{p.of.note}</p> : null}
      {p.children}
    </>
  );
}

/** Words: those that are usual are touched, others typed. */
function WordsInput(p: InputProps & { text: string }) {
  const { of: f } = p;
  const multi = f.input === "text" || f.input === "lines";
  const list = f.input === "list" ? p.text.split(",").map((w) => w.trim()).filter(Boolean) : [p.text];
  const choose = (word: string) => {
    if (f.input === "list") p.fill((list.includes(word) ? list.filter((w) => w !== word) : [...list, word]).join(", "));
    else p.fill(word === p.text ? "" : word);
  };
  const props = { value: p.text, maxLength: 2000, onInput: (e: { currentTarget: { value: string } }) => p.fill(e.currentTarget.value) };
  return (
    <>
      {p.choices.length > 0 ? <h2>{f.label}</h2> : null}
      {p.choices.length > 0 ? <Words small label={f.label} of={p.choices} chosen={list} choose={choose} /> : null}
      <label class="field">
        <span>{p.choices.length > 0 ? "In other words" : f.label}{f.note ? <small class="note"> {f.note}</small> : null}</span>
        {multi ? <textarea rows={2} {...props} /> : <input {...(f.input === "numbers" ? { inputMode: "decimal" } : {})} {...props} />}
      </label>
    </>
  );
}

/** Supports to choose several of. */
function Points(p: InputProps) {
  const app = useApp();
  const chosen = Array.isArray(p.value) ? (p.value as string[]) : [];
  const route = app.book(app.route.path[1]!).picture;
  const ids = (route?.supports ?? []).map((s) => ({ value: s.id, label: s.id }));
  const [open, setOpen] = useState(chosen.length > 0);
  const flip = (id: string) => p.fill(chosen.includes(id) ? chosen.filter((c) => c !== id) : [...chosen, id]);
  return (
    <>
      <Act sort="quiet" on={open} do={() => setOpen(!open)}>{p.of.label}: {chosen.join(", ") || "none"}</Act>
      {open ? <Words small label={p.of.label} of={ids} chosen={chosen} choose={flip} /> : null}
    </>
  );
}

function OnPlan(p: InputProps) {
  const app = useApp();
  const picture = app.book(app.route.path[1]!).picture;
  if (!picture?.supports.length) return null; // there is nothing to show it on
  return <OutlineInput label={p.of.label} picture={picture} room={p.where} value={p.value as Outline | undefined} fill={p.fill} />;
}

/** A figure that is no length, on the same keypad. */
function NumberInput(p: InputProps & { text: string }) {
  const [typed, setTyped] = useState<Typed>(() => nothing("m")); // decimals follow a point
  const change = (t: Typed) => {
    setTyped(t);
    const said = lengthOf(t);
    p.fill(said && String(said.value));
  };
  if (!p.typing) return <Act do={p.type}>{p.of.label}: {p.text || "not said"}</Act>;
  return (
    <>
      <Entry of={typed} name={p.of.label} label={p.of.label} plain />
      <Keypad of={typed} typed={change} sign={p.of.minus ?? false} done={() => {}} plain />
    </>
  );
}

/** One keypad for all lengths of a form: it opens where one is typed. */
function LengthInput(p: InputProps & { value: Length | undefined }) {
  const app = useApp();
  const [typed, setTyped] = useState<Typed>(() => nothing(app.ruleUnit));
  const change = (t: Typed) => {
    setTyped(t);
    p.fill(lengthOf(t));
  };
  if (!p.typing) return <Act do={p.type}>{p.of.label}: {p.value ? `${p.value.value} ${p.value.unit}` : "not measured"}</Act>;
  return (
    <>
      <Entry of={typed} name={p.of.label} label={p.of.label} />
      <Keypad of={typed} typed={change} sign={p.of.minus ?? false} done={() => {}} />
    </>
  );
}
