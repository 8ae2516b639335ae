// When in the work a photo is taken, by how far the work is.
import type { Stage } from "../../shared/event.ts";
import type { Picture } from "../../shared/picture.ts";

/** Before the first lift everything is "before"; what is signed is "after". */
export function usualStage(p: Picture, subject: string): Stage {
  const support = p.supports.find((s) => s.id === subject);
  if (support) return support.state === "signed" ? "after" : support.state === "found" || support.state === "read" ? "before" : "during";
  const lifted = p.supports.some((s) => !["found", "read", "none here"].includes(s.state));
  return !lifted ? "before" : p.supports.every((s) => s.state === "signed" || s.left_out || s.none_here) ? "after" : "during";
}
