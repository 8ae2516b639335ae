// What is found below that no plan knows, in three touches.
import { useState } from "preact/hooks";
import type { Picture, Support } from "../../shared/picture.ts";
import { address, go } from "../route.ts";
import { Act, Words } from "../ui/act.tsx";
import { useApp } from "../ui/app.tsx";
import { Frame } from "../ui/frame.tsx";
import { comeBack, supportOf, type Recording } from "./recording.ts";

type What = "next" | "here" | "none" | "end";

const usualSpacingM = 1.8; // where one support tells no spacing; common practice, no source

export function Found(p: Recording) {
  const app = useApp();
  const [at, setAt] = useState<Support | undefined>(supportOf(p) ?? p.picture.supports[0]);
  const [what, setWhat] = useState<What>();
  const whats: { value: What; label: string }[] = [
    { value: "next", label: `Next along this ${app.words.bearer}` }, { value: "here", label: "One here" },
    { value: "none", label: "None here" }, { value: "end", label: "Ends or joins here" },
  ];
  const save = async () => {
    const body = foundBody(p.picture, at, what!);
    if (await app.record(p.book.job, "found", body)) go(body.what === "support" ? address(["job", p.book.job, "support", body.id]) : comeBack(p), true);
  };
  const body = what && foundBody(p.picture, at, what);
  return (
    <Frame title="Found below" back={comeBack(p)} picture={p.picture}>
      <Words label="What" of={at ? whats : whats.filter((w) => w.value === "here")} chosen={what ? [what] : []} choose={setWhat} />
      {body ? <Act sort="main" do={save}>{sentence(app.words.support, body, at)}</Act> : null}
      {at ? (
        <>
          <h2>Beside which one</h2>
          <Words small label="Beside which one" of={p.picture.supports.map((s) => ({ value: s.id, label: s.id }))} chosen={[at.id]} choose={(id) => setAt(p.picture.supports.find((s) => s.id === id))} />
        </>
      ) : null}
    </Frame>
  );
}

export interface FoundBody {
  what: "support" | "bearer-end" | "none-here";
  id: string;
  x?: number;
  y?: number;
  bearer?: string;
  after?: string;
}

/** What is recorded: a name counted on from that of its neighbour, and a place by the
 *  spacing along the bearer. */
export function foundBody(p: Picture, at: Support | undefined, what: What): FoundBody {
  if (what === "none" && at) return { what: "none-here", id: at.id };
  const along = p.plan.bearers?.find((b) => b.id === at?.bearer)?.supports ?? [];
  if (what === "end" && at) return { what: "bearer-end", id: freeName(p, `${at.id} end`), x: at.x, y: at.y, ...(at.bearer ? { bearer: at.bearer } : {}), after: at.id };
  if (!at) return { what: "support", id: freeName(p, "P-1"), x: 0, y: 0 };
  const place = what === "here" ? { x: round(at.x), y: round(at.y + 0.3) } : nextPlace(p, along, at);
  return { what: "support", id: freeName(p, countedOn(along.at(-1) ?? at.id)), ...place, ...(at.bearer && what === "next" ? { bearer: at.bearer, after: at.id } : {}) };
}

/** Halfway to the one after, or as far beyond the last as those before are apart. */
function nextPlace(p: Picture, along: string[], at: Support): { x: number; y: number } {
  const i = along.indexOf(at.id);
  const of = (id: string | undefined) => p.supports.find((s) => s.id === id);
  const after = of(along[i + 1]);
  if (after) return { x: round((at.x + after.x) / 2), y: round((at.y + after.y) / 2) };
  const before = of(along[i - 1]);
  if (before) return { x: round(2 * at.x - before.x), y: round(2 * at.y - before.y) };
  return { x: round(at.x + usualSpacingM), y: at.y };
}

const round = (m: number) => Math.round(m * 100) / 100;

/** B2-3 → B2-4; a name without a number gets one. */
function countedOn(id: string): string {
  const m = /^(.*?)(\d+)$/.exec(id);
  return m ? `${m[1]}${Number(m[2]) + 1}` : `${id}-2`;
}

function freeName(p: Picture, wish: string): string {
  const taken = new Set([...p.supports, ...(p.spots ?? []), ...(p.datums ?? [])].map((x) => x.id));
  let name = wish;
  while (taken.has(name)) name = countedOn(name);
  return name;
}

function sentence(word: string, b: FoundBody, at: Support | undefined): string {
  if (b.what === "none-here") return `No ${word} stands at ${b.id}`;
  if (b.what === "bearer-end") return `It ends or joins at ${at?.id}`;
  return `Add ${b.id}${b.after ? ` after ${b.after}` : ""}`;
}
