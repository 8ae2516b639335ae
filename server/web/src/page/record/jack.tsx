// Which jack it was, of the firm's kit.
import type { Office } from "../office.ts";
import { Words } from "../ui/act.tsx";
import { useApp } from "../ui/app.tsx";
import type { Move } from "./bodies.ts";

export const gauges = [
  { value: "rule", label: "Rule" }, { value: "dial", label: "Dial" }, { value: "turns", label: "Turns" },
] as const;

/** What a move says of its jack. */
export function jackOf(office: Office | undefined, name: string): Pick<Move, "jack" | "rated_kn" | "bore_mm"> {
  const jack = office?.jacks.find((j) => j.name === name);
  if (!jack) return name ? { jack: name } : {};
  return { jack: jack.name, ...(jack.rated_kn ? { rated_kn: jack.rated_kn } : {}), ...(jack.bore_mm ? { bore_mm: jack.bore_mm } : {}) };
}

export function Jack(p: { chosen: string; choose: (name: string) => void }) {
  const app = useApp();
  const jacks = (app.office?.jacks ?? []).filter((j) => !j.gone);
  if (jacks.length === 0) return null;
  const due = jacks.find((j) => j.name === p.chosen)?.due;
  return (
    <>
      <Words label="Which jack" of={jacks.map((j) => ({ value: j.name, label: j.name }))} chosen={[p.chosen]} choose={(n) => p.choose(n === p.chosen ? "" : n)} />
      {due ? <p class="danger">{due}</p> : null}
    </>
  );
}
