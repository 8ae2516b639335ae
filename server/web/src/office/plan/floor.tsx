// What is said of the whole floor: joists, street side, loads, the picture under it.
import type { JSX } from "preact";
import type { Editor } from "./editor.ts";
import { Cells, Choice, NumberField } from "./fields.tsx";
import type { Joists, Loads, Side } from "./plan.ts";
import { UnderlayForm } from "./underlay.tsx";
import type { Wire } from "./wire.ts";

const sides = ["", "top", "right", "bottom", "left"].map((v) => ({ value: v, label: v || "not said" }));

const loads: [keyof Loads, string][] = [
  ["floor_dead_kpa", "Floor itself, kPa"], ["floor_live_kpa", "People on it, kPa"], ["wall_dead_kpa", "Wall, kPa of its face"], ["wall_m", "Wall, m high"],
  ["roof_dead_kpa", "Roof itself, kPa"], ["roof_live_kpa", "On the roof, kPa"], ["roof_m", "Roof per m of wall, m"],
];

export function Floor({ e, wire }: { e: Editor; wire: Wire }): JSX.Element {
  return (
    <section aria-label="The floor">
      <h2>The floor</h2>
      <JoistFields e={e} />
      <Cells><Choice label="Street is at the" value={e.plan.street ?? ""} options={sides} note="of the drawing, before it is turned" take={(v) => e.do(withField(e, "street", (v || undefined) as Side | undefined), "Said where the street is")} /></Cells>
      <UnderlayForm e={e} wire={wire} />
      <details><summary>What the house weighs</summary>
        <p class="note">What is left empty is taken as usual, and said so.</p>
        <Cells>{loads.map(([name, label]) => <NumberField key={name} label={label} value={e.plan.loads?.[name]} wrong={wrongAt(e, `loads.${name}`)} take={(v) => setLoad(e, name, v)} />)}</Cells>
      </details>
    </section>
  );
}

/** What the server says is wrong with one field. */
function wrongAt(e: Editor, field: string): string | undefined {
  if (e.refused?.field === field) return e.refused.cure;
  return e.advice.find((a) => a.wrong && a.field === field)?.words;
}

function withField<K extends "street" | "joists" | "loads">(e: Editor, name: K, value: Editor["plan"][K] | undefined): Editor["plan"] {
  const { [name]: _, ...rest } = e.plan;
  return value === undefined ? rest : { ...rest, [name]: value };
}

function setLoad(e: Editor, name: keyof Loads, v: number | undefined): void {
  const { [name]: _, ...rest } = e.plan.loads ?? {};
  const now: Loads = v === undefined ? rest : { ...rest, [name]: v };
  e.do(withField(e, "loads", Object.keys(now).length ? now : undefined), "Said what the house weighs");
}

const ways = [{ value: "", label: "not said" }, { value: "0", label: "left to right" }, { value: "90", label: "up and down" }];

function JoistFields({ e }: { e: Editor }): JSX.Element {
  const j = e.plan.joists;
  const say = (fields: Record<string, number | undefined>): void => {
    const now: Record<string, unknown> = { direction_deg: 0, ...j, ...fields };
    for (const [name, v] of Object.entries(now)) if (v === undefined) delete now[name];
    e.do(withField(e, "joists", now as unknown as Joists), "Said how the joists lie");
  };
  const odd = j && !ways.some((w) => w.value === String(j.direction_deg)) ? [{ value: String(j.direction_deg), label: `${j.direction_deg}°` }] : [];
  return (
    <Cells>
      <Choice label="Joists run" value={j ? String(j.direction_deg) : ""} options={[...ways, ...odd]} take={(v) => (v === "" ? e.do(withField(e, "joists", undefined), "Joists not said") : say({ direction_deg: Number(v) }))} />
      {j && <NumberField label="or at °" value={j.direction_deg} note="from the right, anticlockwise" take={(v) => say({ direction_deg: v ?? 0 })} />}
      {j && <NumberField label="Apart, mm" value={j.spacing_mm} take={(v) => say({ spacing_mm: v })} />}
      {j && <NumberField label="Wide, mm" value={j.width_mm} take={(v) => say({ width_mm: v })} />}
      {j && <NumberField label="Deep, mm" value={j.depth_mm} take={(v) => say({ depth_mm: v })} />}
    </Cells>
  );
}
