// What can be done about something that is left at the end of a day.
import type { ID } from "../../shared/event.ts";
import type { Left, Picture } from "../../shared/picture.ts";
import { address } from "../route.ts";

interface Remedy {
  label: string;
  to: string;
}

/** The ways out, the usual one first; each comes back to the day's end. People and
 *  services have none: the day's end itself says that they are out, and on again. */
export function remedies(job: ID, p: Picture, left: Left): Remedy[] {
  const way = (label: string, kind: string, query: Record<string, string>): Remedy => ({ label, to: address(["job", job, "do", kind], { ...query, then: "day-end" }) });
  const s = p.supports.find((x) => x.id === left.place);
  if (s) {
    const here: Remedy = { label: `To ${s.id}`, to: address(["job", job, "support", s.id]) };
    if (left.what === "on a jack") return [way("Pack it", "packing", { support: s.id, sort: "final" }), way("Block it", "blocking", { supports: s.id }), here];
    if (left.what === "out") return [...(s.on_blocking ? [] : [way("Block it", "blocking", { supports: s.id })]), way("The new one is set", "support-work", { support: s.id, step: "set" }), here];
    const stands = (p.blockings ?? []).filter((b) => b.supports.includes(s.id));
    return [...stands.map((b) => way(`Take ${b.place} away`, "blocking-removed", { place: b.place })), here];
  }
  if (p.lists.cuts?.some((c) => c.name === left.place)) return [way("Cover it", "floor-closed", { cut: left.place, covered: "1" }), way("Close it", "floor-closed", { cut: left.place })];
  const tie = [...(p.lists.ties ?? [])].reverse().find((t) => t.text === left.place && t.closed !== undefined); // its words are what is left, not its name
  return tie?.name ? [way("Put it back", "tie-back", { tie: tie.name })] : [];
}
