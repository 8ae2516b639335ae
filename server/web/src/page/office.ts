// What the office told this phone beside events: the firm, its people, jobs and kit.
import type { Saying } from "./say.ts";
import type { ID } from "../shared/event.ts";
import type { HttpWire } from "../shared/http.ts";
import type { Kept } from "../shared/kept.ts";
import type { Shown } from "../shared/length.ts";

export interface Person {
  id: ID;
  name: string;
  initials?: string;
  role?: "office" | "site-lead" | "crew-hand";
  /** When they left the firm; their name stays with what they recorded. */
  left_at?: string;
}

export interface Job {
  id: ID;
  name: string;
  place?: string;
  zone?: string;
  crew?: ID;
  seq?: number;
}

/** Trade words of the firm's region. */
export interface Words {
  support: string;
  bearer: string;
  packer: string;
  blocking: string;
  staff: string;
  datum: string;
  under: string;
  inspector: string;
  change: string;
  come_back: string;
}

export interface Office {
  firm: { id: ID; name: string; region?: string; units?: Shown; words: Words; sayings?: Saying[] };
  people: Person[];
  jobs: Job[];
  jacks: { name: string; rated_kn?: number; bore_mm?: number; gauge?: boolean; gone?: boolean; due?: string }[];
  lasers: { name: string; sd_mm_per_m?: number; gone?: boolean; due?: string }[];
  practice: object;
  profiles: object;
}

/** Those who work here now, to choose from. */
export function working(office: Office | undefined | null): Person[] {
  return (office?.people ?? []).filter((p) => !p.left_at);
}

export const plainWords: Words = {
  support: "support", bearer: "bearer", packer: "packer", blocking: "blocking", staff: "staff", datum: "datum", under: "under the floor",
  inspector: "inspector", change: "agreed change", come_back: "come-back period",
};

/** Asks the office anew and keeps its answer. */
export async function askOffice(wire: HttpWire, kept: Kept): Promise<Office> {
  const device = await kept.device();
  const office = await wire.json<Office>("GET", `/phone?device=${device}`);
  await kept.write("office", office);
  return office;
}

/** Two letters that stand for a person on drawings. */
export function initialsOf(p: Person): string {
  const parts = p.name.trim().split(/\s+/);
  return p.initials ?? parts.map((w) => w[0]?.toUpperCase() ?? "").join("").slice(0, 3);
}
