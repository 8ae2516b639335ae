// A job's state as the fold pictures it: the fields that the phone's screens read.
// They are those of GET jobs/{job}/state.
import type { ID } from "./event.ts";
import type { Length } from "./length.ts";

export interface Figure {
  mm: number;
  sd_mm: number;
}

export interface StopFigure {
  staff_mm: number;
  by_mm: number;
  setup: ID;
  face: Face;
}

export type Face = "floor" | "bearer" | "support";

export interface Support {
  id: string;
  x: number;
  y: number;
  sort?: string;
  bearer?: string;
  state: string;
  on_jack?: boolean;
  on_blocking?: boolean;
  out?: boolean;
  stopped?: boolean;
  left_out?: boolean;
  none_here?: boolean;
  present?: Figure;
  basis?: "read" | "expected";
  target_mm?: number;
  remaining?: Figure;
  to_go: string;
  stop_figure?: StopFigure;
  doubt?: string;
  open_ties?: string[];
  open_causes?: string[];
  findings?: Item[];
  packer?: { sort: "temporary" | "final"; mm: number; gap_mm?: number; pieces?: string[]; full_width: boolean };
  bedding?: { mm: number; sd_mm: number; from: number };
  fixed?: boolean;
  signature?: { seq: number; by: ID; at: string; lapsed?: string; lacking?: string[] };
  missing?: string[];
  next: string;
  next_kind?: string;
  next_step?: string;
  next_sort?: "temporary" | "final";
  faces?: { face: Face; surface?: string; height: Figure; basis: "read" | "expected"; looks: number; at: string }[];
  last_seq: number;
}

export interface Spot {
  id: string;
  x: number;
  y: number;
  present?: Figure;
  faces?: Support["faces"];
}

export interface Datum {
  id: string;
  x: number;
  y: number;
  height?: Figure;
  stands_on?: string;
  doubt?: string;
}

export interface Setup {
  id: ID;
  seq: number;
  instrument: string;
  plane?: Figure;
  at: string;
  by: ID;
  closed?: boolean;
  doubt?: string;
  readings: number;
  check: string;
  check_due?: boolean;
  hanging_on_it?: string[];
}

export interface Item {
  id: ID;
  seq: number;
  at: string;
  by: ID;
  name?: string;
  text: string;
  supports?: string[];
  open?: boolean;
  closed?: string;
}

export interface Move {
  support: string;
  by_mm: number;
  so_far_mm: number;
  over_mm?: number;
  batch: number;
  today: boolean;
  stop_figure?: StopFigure;
  read_first?: string;
}

export interface Rounds {
  ask?: string[];
  left: number;
  moves?: Move[];
  later?: { day: number; moves: Move[] }[];
  waits?: { support: string; left_mm: number; why: string }[];
}

export interface Left {
  what: string;
  place: string;
  since: string;
  by: ID;
  seq: number;
  dangerous?: boolean;
}

export interface Gap {
  name: string;
  what: string;
  near?: string;
  first_mm: number;
  now_mm: number;
  growth?: string;
  watch_limit?: string;
  past_limit?: boolean;
  supports?: string[];
}

/** What somebody should look at. */
export interface Flag {
  id: ID; // of the event
  seq: number;
  text: string;
}

export interface Plan {
  supports?: { id: string; x: number; y: number; sort?: string; of?: string }[];
  spots?: { id: string; x: number; y: number }[];
  datums?: { id: string; x: number; y: number; height?: Length; stands_on?: string; off_building?: boolean }[];
  bearers?: { id: string; supports: string[]; joins?: { at: string; other?: string; sort: string }[] }[];
  rooms?: { name: string; outline: [number, number][]; wet?: boolean }[];
  street?: "top" | "right" | "bottom" | "left";
}

export interface Picture {
  job: ID;
  seq: number;
  stage: string;
  steps: { name: string; begun: boolean; done: boolean; missing?: string[] }[];
  plan: Plan;
  supports: Support[];
  spots?: Spot[];
  datums?: Datum[];
  setups?: Setup[];
  instruments?: { name: string; check: string; check_due?: boolean }[];
  aim?: { seq: number; words: string; height_mm?: number; agreed: { tolerance: { within_mm?: number }; step_mm?: number; face?: Face; left_out?: string[] } };
  rounds?: Rounds;
  left?: Left[];
  stops?: Item[];
  halts?: (Item & { ask_of?: ID })[]; // all stops, those that ended too
  changes?: (Item & { state: "asked" | "agreed" | "declined" | "withdrawn" })[];
  proposals?: { why: string; supports?: string[]; id: ID; seq: number }[];
  gaps?: Gap[];
  open_cuts?: { name: string; outline: [x: number, y: number][] }[]; // those that were shown on the plan
  blockings?: { place: string; supports: string[] }[]; // those that stand
  checked_today: boolean;
  lists: Partial<Record<"conditions" | "safety_checks" | "ties" | "cuts" | "findings" | "inspections" | "under_floor" | "differences" | "gaps" | "incidents" |
    "changes" | "days" | "handovers" | "notes" | "instrument_checks" | "stops", Item[]>>;
  set_aside?: { id: ID; seq: number; kind: string; reason: string }[];
  newer?: number;
  flags?: Flag[];
  brief: { stage: string; supports: number; signed: number; within: number; greatest_to_go_mm?: number; greatest_to_go_sd_mm?: number; dangerous?: string[]; stopped?: boolean };
}

/** A packer that can be cut now. */
export interface Cutting {
  support: string;
  ask?: string;
  gap_mm: number;
  measured: boolean;
  adjust_mm: number;
  bedding: { mm: number; sd_mm: number; from: number };
  need_mm: number;
  pieces_mm: number[];
  cut: boolean;
  from_mm?: number;
  over_mm?: number;
  cautions?: string[];
}

/** A line of the book. */
export interface Line {
  seq: number;
  id: ID;
  kind: string;
  what: string;
  points?: string[];
  text?: string;
  staff_mm?: number;
  height_mm?: number;
  move_mm?: number;
  voided?: string;
  aside?: string;
}
