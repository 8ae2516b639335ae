// What is chosen, to be changed by typing: every single thing can be said here that
// can be drawn with a hand.
import type { JSX } from "preact";
import * as edit from "./edit.ts";
import { only, type Editor } from "./editor.ts";
import { Cells, Choice, Field, LengthField, NumberField, Yes, type Option } from "./fields.tsx";
import { along, bearing, distance } from "./geometry.ts";
import { fieldLength, parseLength, parseSpans, Untold } from "./measure.ts";
import { rename, wrongName } from "./naming.ts";
import { bearerOf, keyOf, outlineOf, parts, support, type Bearer, type JoinSort, type Key, type Position } from "./plan.ts";
import { keyOfField, lastField, nameOf, severally, spansOf } from "./said.ts";
import { parseCorners } from "./strokes.ts";

export function Chosen({ e }: { e: Editor }): JSX.Element | null {
  const [key] = e.chosen;
  if (!key) return null;
  return (
    <section aria-label="What is chosen">
      <h2>{severally(e.plan, e.chosen, e.speech)}</h2>
      {e.chosen.length === 1 ? <One key={key} e={e} of={key} /> : <Many e={e} />}
      <Together e={e} />
    </section>
  );
}

/** What the server says is wrong with a field of a thing. Its name takes what no other
 *  field shows. */
function wrongOf(e: Editor, key: Key, field = "id"): string | undefined {
  const said = [...(e.refused ? [{ field: e.refused.field, words: e.refused.cure }] : []), ...e.advice.filter((a) => a.wrong)];
  return said.find((a) => keyOfField(e.plan, a.field) === key && (lastField(a.field ?? "") === field || (field === "id" && !shown.has(lastField(a.field ?? "")))))?.words;
}

const shown = new Set(["x", "y", "height", "sd_mm", "stands_on", "width_mm", "depth_mm", "e_mpa", "outline"]);

function One({ e, of }: { e: Editor; of: Key }): JSX.Element {
  switch (parts(of).sort) {
    case "support": return <SupportForm e={e} of={of} />;
    case "spot": return <Cells><NameField e={e} of={of} /><PlaceFields e={e} of={of} /></Cells>;
    case "datum": return <DatumForm e={e} of={of} />;
    case "bearer": return <BearerForm e={e} of={of} />;
    case "wall": return <WallForm e={e} of={of} />;
    default: return <OutlineForm e={e} of={of} />;
  }
}

function NameField({ e, of }: { e: Editor; of: Key }): JSX.Element {
  const { id } = parts(of);
  return (
    <Field label="Name" narrow value={id} wrong={wrongOf(e, of)} take={(text) => {
      const cure = wrongName(e.plan, text, id, e.now.records);
      if (cure === undefined) e.do(rename(e.plan, id, text.trim()), `Called ${id} ${text.trim()}`, [keyOf(parts(of).sort, text.trim())]);
      return cure;
    }} />
  );
}

function PlaceFields({ e, of }: { e: Editor; of: Key }): JSX.Element {
  const [x, y] = outlineOf(e.plan, of)[0] ?? [0, 0];
  const put = (fields: { x: number } | { y: number }): void => e.change(of, fields, `Moved ${nameOf(e.plan, of)}`);
  return (
    <>
      <LengthField label="Right" value={x} feet={e.feet} wrong={wrongOf(e, of, "x")} take={(v) => put({ x: v })} />
      <LengthField label="Up" value={y} feet={e.feet} wrong={wrongOf(e, of, "y")} take={(v) => put({ y: v })} />
    </>
  );
}

const materials: Option[] = ["", "timber", "concrete", "brick", "steel", "stone"].map((v) => ({ value: v, label: v || "not said" }));
const sorts: Option[] = ["", "stump", "pile", "pier", "post"].map((v) => ({ value: v, label: v || "not said" }));
const joins: Option[] = [
  { value: "", label: "none" }, { value: "butted", label: "butted: two ends" }, { value: "halved", label: "halved" },
  { value: "scarfed", label: "scarfed" }, { value: "plated", label: "plated" },
];

function SupportForm({ e, of }: { e: Editor; of: Key }): JSX.Element {
  const { id } = parts(of);
  const s = support(e.plan, id);
  const on = bearerOf(e.plan, id)?.id ?? "";
  const bearers = [{ value: "", label: "none" }, ...(e.plan.bearers ?? []).map((b) => ({ value: b.id, label: b.id }))];
  return (
    <Cells>
      <NameField e={e} of={of} />
      <PlaceFields e={e} of={of} />
      <Choice label={`On ${e.now.words["bearer"]}`} value={on} options={bearers} take={(b) => e.do(edit.assign(e.plan, id, b), b ? `Put ${id} on ${b}` : `Took ${id} off its ${e.now.words["bearer"]}`)} />
      {on && <Choice label="Join over it" value={edit.joinAt(e.plan, id) ?? ""} options={joins} note="butted: two ends side by side, a packer each" take={(v) => join(e, id, v as JoinSort | "")} />}
      <Choice label="Sort" value={s?.sort ?? ""} options={sorts} take={(v) => e.change(of, { sort: v || undefined }, `Said what ${id} is`)} />
      <Choice label="Of" value={s?.of ?? ""} options={materials} take={(v) => e.change(of, { of: v || undefined }, `Said what ${id} is of`)} />
    </Cells>
  );
}

function join(e: Editor, id: string, sort: JoinSort | ""): void {
  const done = edit.setJoin(e.plan, id, sort || undefined, e.now.records);
  e.do(done.plan, sort ? `Joined at ${id}: ${sort}` : `No join at ${id}`, done.keys);
}

function DatumForm({ e, of }: { e: Editor; of: Key }): JSX.Element {
  const { id } = parts(of);
  const d = e.plan.datums?.find((one) => one.id === id);
  const height = typeof d?.height === "object" ? `${d.height.value} ${d.height.unit}` : d?.height === undefined ? "" : String(d.height);
  return (
    <Cells>
      <NameField e={e} of={of} />
      <PlaceFields e={e} of={of} />
      <Field label="Height, mm" narrow figures value={height} note="none: read from another one" wrong={wrongOf(e, of, "height")} take={(text) => takeHeight(e, of, text)} />
      <NumberField label="± of it, mm" value={d?.sd_mm} wrong={wrongOf(e, of, "sd_mm")} take={(v) => e.change(of, { sd_mm: v || undefined }, `Said how well ${id} is known`)} />
      <Field label="Stands on" value={d?.stands_on ?? ""} take={(text) => (e.change(of, { stands_on: text.trim() || undefined }, `Said what ${id} stands on`), undefined)} />
      <Yes label="Off the building" value={d?.off_building ?? false} take={(yes) => e.change(of, { off_building: yes || undefined }, yes ? `${id} is off the building` : `${id} is on the building`)} />
    </Cells>
  );
}

/** A height in mm, or with a unit of its own, which is kept. */
function takeHeight(e: Editor, of: Key, text: string): string | undefined {
  const m = /^([-−]?\d+(?:[.,]\d+)?)\s*(mm|cm|m|in|ft)?$/.exec(text.trim());
  if (text.trim() && !m) return "a height: 0, or −620, or 12.5 ft";
  const value = m ? Number(m[1]!.replace(",", ".").replace("−", "-")) : undefined;
  const height = m?.[2] && m[2] !== "mm" ? { value, unit: m[2] } : value;
  e.change(of, { height, ...(height === undefined ? { sd_mm: undefined } : {}) }, `Gave ${nameOf(e.plan, of)} its height`);
  return undefined;
}

function BearerForm({ e, of }: { e: Editor; of: Key }): JSX.Element {
  const { id } = parts(of);
  const b = e.plan.bearers?.find((one) => one.id === id);
  if (!b) return <></>;
  const spans = spansOf(e.plan, id).map((s) => fieldLength(s, e.feet)).join(e.feet ? "; " : " ");
  return (
    <>
      <Cells>
        <Field label="Name" narrow value={id} wrong={wrongOf(e, of)} take={(text) => renameBearer(e, id, text)} />
        <Field label={`From ${e.now.words["support"]} to ${e.now.words["support"]}`} figures value={spans} note="change them and they move along it" take={(text) => respace(e, b, text)} />
      </Cells>
      <Timber e={e} keys={[of]} b={b} />
      <Beside e={e} id={id} />
      <p class="acts"><button type="button" onClick={() => e.renumber([id])}>Number anew</button></p>
    </>
  );
}

function renameBearer(e: Editor, was: string, text: string): string | undefined {
  const id = text.trim();
  if (!id || id.length > 40) return "a name of up to 40 letters";
  if (e.plan.bearers?.some((b) => b.id === id)) return `${id} is on the plan already`;
  e.do(edit.renameBearer(e.plan, was, id), `Called ${was} ${id}`, [keyOf("bearer", id)]);
  return undefined;
}

/** Moves the supports of a bearer along it to other distances from the first. */
function respace(e: Editor, b: Bearer, text: string): string | undefined {
  try {
    const at = parseSpans(text, e.feet);
    if (at.length !== b.supports.length) throw new Untold(`${b.supports.length - 1} spans for ${b.supports.length} ${e.now.words["support"]}s: add or take off ${e.now.words["support"]}s on the drawing`);
    const ends = outlineOf(e.plan, keyOf("bearer", b.id));
    const to = along(ends[0]!, bearing(ends[0]!, ends[ends.length - 1]!), at);
    e.do(b.supports.reduce((plan, s, i) => edit.change(plan, keyOf("support", s), { x: to[i]![0], y: to[i]![1] }), e.plan), `Spaced ${b.id} anew`);
    return undefined;
  } catch (err) {
    if (err instanceof Untold) return err.message;
    throw err;
  }
}

function Timber({ e, keys, b }: { e: Editor; keys: Key[]; b: Bearer }): JSX.Element {
  const say = (fields: Record<string, unknown>): void => e.changeAll(keys, fields, `Said what ${severally(e.plan, keys, e.speech)} ${keys.length > 1 ? "are" : "is"} of`);
  return (
    <Cells>
      <NumberField label="Wide, mm" value={b.width_mm} wrong={wrongOf(e, keys[0]!, "width_mm")} take={(v) => say({ width_mm: v })} />
      <NumberField label="Deep, mm" value={b.depth_mm} wrong={wrongOf(e, keys[0]!, "depth_mm")} take={(v) => say({ depth_mm: v })} />
      <Field label="Grade" narrow value={b.grade ?? ""} take={(t) => (say({ grade: t.trim() || undefined }), undefined)} />
      <NumberField label="E, MPa" value={b.e_mpa} wrong={wrongOf(e, keys[0]!, "e_mpa")} take={(v) => say({ e_mpa: v })} />
      <Field label="Condition" value={b.condition ?? ""} take={(t) => (say({ condition: t.trim() || undefined }), undefined)} />
    </Cells>
  );
}

/** More bearers beside one, in one go. */
function Beside({ e, id }: { e: Editor; id: string }): JSX.Element {
  const put = (ev: Event): void => {
    ev.preventDefault();
    const data = new FormData(ev.currentTarget as HTMLFormElement);
    const count = Number(data.get("count")), apart = parseLength(String(data.get("apart")), e.feet);
    if (!Number.isInteger(count) || count < 1 || count > 60 || !apart) return e.set({ refused: { field: "beside", cure: "how many more, and how far apart: 4, 1.8" } });
    const done = edit.repeatBearer(e.plan, id, count, apart);
    e.do(done.plan, `Put down ${severally(done.plan, done.keys, e.speech)} beside ${id}`, done.keys);
  };
  return (
    <form class="plan-row" onSubmit={put} noValidate>
      <label>More beside it <input name="count" class="figures" defaultValue="1" inputMode="numeric" autocomplete="off" /></label>
      <label>apart <input name="apart" class="figures" defaultValue={fieldLength(1.8, e.feet)} autocomplete="off" /></label>
      <button>Put down</button>
      {e.refused?.field === "beside" && <p class="wrong" role="alert">{e.refused.cure}</p>}
    </form>
  );
}

function WallForm({ e, of }: { e: Editor; of: Key }): JSX.Element {
  const w = e.plan.walls?.[Number(parts(of).id)];
  if (!w) return <></>;
  return (
    <Cells>
      <Field label="From and to" figures value={cornersText([w.from, w.to], e.feet)} wrong={wrongOf(e, of)} note="across and up of each end" take={(text) => {
        return corners(e, text, 2, 2, ([from, to]) => e.change(of, { from, to }, "Moved a wall"));
      }} />
      <Yes label="Carries roof" value={w.roof ?? false} take={(yes) => e.change(of, { roof: yes || undefined }, yes ? "A wall carries roof" : "A wall carries no roof")} />
      <Yes label="Masonry: cracks first" value={w.masonry ?? false} take={(yes) => e.change(of, { masonry: yes || undefined }, yes ? "A wall is masonry" : "A wall is no masonry")} />
    </Cells>
  );
}

function OutlineForm({ e, of }: { e: Editor; of: Key }): JSX.Element {
  const { sort, id } = parts(of);
  const outline = outlineOf(e.plan, of);
  const room = sort === "room" ? e.plan.rooms?.[Number(id)] : undefined;
  const name = nameOf(e.plan, of);
  return (
    <Cells>
      <Field label="Name" value={name} wrong={wrongOf(e, of)} take={(text) => (text.trim() ? (e.change(of, { name: text.trim() }, `Called ${name} ${text.trim()}`), undefined) : "a name is missing")} />
      <Field label="Corners" figures value={cornersText(outline, e.feet)} note="across and up of each: 0 0, 4.6 0, 4.6 2.9" wrong={wrongOf(e, of, "outline")} take={(text) => corners(e, text, sort === "door" ? 2 : 1, 200, (at) => e.change(of, { outline: at }, `Changed the outline of ${name}`))} />
      {sort === "door" && <p class="note">The hinge side first.</p>}
      {room && <Yes label="Wet: a bathroom, a laundry" value={room.wet ?? false} take={(yes) => e.change(of, { wet: yes || undefined }, `${name} is ${yes ? "wet" : "dry"}`)} />}
      {outline.length === 2 && sort === "door" && <p class="note">{fieldLength(distance(outline[0]!, outline[1]!), e.feet)} wide</p>}
    </Cells>
  );
}

function cornersText(at: Position[], feet: boolean): string {
  return at.map(([x, y]) => `${plainLength(x, feet)} ${plainLength(y, feet)}`).join(", ");
}

/** Without a space, so that two of them can stand side by side. */
function plainLength(m: number, feet: boolean): string {
  return fieldLength(m, feet).replace(/ /g, "");
}

function corners(e: Editor, text: string, least: number, most: number, then: (at: Position[]) => void): string | undefined {
  try {
    const at = parseCorners(text, e.feet);
    if (at.length < least || at.length > most) return least === most ? `${least} corners` : `at least ${least} corners`;
    then(at);
    return undefined;
  } catch (err) {
    if (err instanceof Untold) return err.message;
    throw err;
  }
}

/** What several of one sort have in common. */
function Many({ e }: { e: Editor }): JSX.Element | null {
  const first = parts(e.chosen[0]!).id;
  if (only(e.chosen, "bearer")) {
    const b = e.plan.bearers?.find((one) => one.id === first);
    return b ? <><Timber e={e} keys={e.chosen} b={b} /><p class="acts"><button type="button" onClick={() => e.renumber(e.chosen.map((k) => parts(k).id))}>Number anew</button></p></> : null;
  }
  if (!only(e.chosen, "support")) return null;
  const s = support(e.plan, first);
  return (
    <Cells>
      <Choice label="Sort" value={s?.sort ?? ""} options={sorts} take={(v) => e.changeAll(e.chosen, { sort: v || undefined }, `Said what ${severally(e.plan, e.chosen, e.speech)} are`)} />
      <Choice label="Of" value={s?.of ?? ""} options={materials} take={(v) => e.changeAll(e.chosen, { of: v || undefined }, `Said what ${severally(e.plan, e.chosen, e.speech)} are of`)} />
    </Cells>
  );
}

/** Moving, copying and taking off, for one thing or many. */
function Together({ e }: { e: Editor }): JSX.Element {
  const by = (form: HTMLFormElement): Position | undefined => {
    const data = new FormData(form);
    const [x, y] = ["right", "up"].map((n) => parseLength(String(data.get(n)) || "0", e.feet));
    return x === undefined || y === undefined ? undefined : [x, y];
  };
  const go = (ev: SubmitEvent): void => {
    ev.preventDefault();
    const to = by(ev.currentTarget as HTMLFormElement);
    if (!to) return e.set({ refused: { field: "by", cure: "how far, right and up: 1.5 and 0; minus is left or down" } });
    if ((ev.submitter as HTMLButtonElement | null)?.value === "copy") e.copy(to);
    else e.move(to);
  };
  const leaving = e.chosen.map((k) => parts(k).id).filter((id) => e.now.records[id]);
  return (
    <form class="plan-row" onSubmit={go} noValidate>
      <label>By, right <input name="right" class="figures" defaultValue={fieldLength(e.feet ? 0.3048 : 1, e.feet)} autocomplete="off" /></label>
      <label>up <input name="up" class="figures" defaultValue="0" autocomplete="off" /></label>
      <button value="move">Move</button>
      <button value="copy">Copy</button>
      <button type="button" onClick={() => e.remove()}>Take off</button>
      {e.refused?.field === "by" && <p class="wrong" role="alert">{e.refused.cure}</p>}
      {leaving.length > 0 && <p class="note">Records stand under {leaving.join(", ")}. Taken off the plan, {leaving.length > 1 ? "they stay" : "it stays"} in the book with {leaving.length > 1 ? "them" : "its records"}.</p>}
    </form>
  );
}

