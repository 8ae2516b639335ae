// A plan as the log has it: see events.Plan, which explains every field. Positions
// are metres, x to the right and y upwards.

export type Position = [number, number];

export interface Support { id: string; x: number; y: number; sort?: string; of?: string }
export interface Spot { id: string; x: number; y: number }

export interface Datum {
  id: string;
  x: number;
  y: number;
  height?: number | { value: number; unit: string }; // mm, or as it was typed
  sd_mm?: number;
  stands_on?: string;
  off_building?: boolean;
}

export type JoinSort = "butted" | "halved" | "scarfed" | "plated";

export interface Join { at: string; other?: string; sort: JoinSort }

export interface Bearer {
  id: string;
  supports: string[];
  width_mm?: number;
  depth_mm?: number;
  e_mpa?: number;
  grade?: string;
  condition?: string;
  joins?: Join[];
}

export interface Joists { direction_deg: number; spacing_mm?: number; width_mm?: number; depth_mm?: number }
export interface Wall { from: Position; to: Position; roof?: boolean; masonry?: boolean }
export interface Room { name: string; outline: Position[]; wet?: boolean }
export interface Thing { name: string; outline: Position[] }
export type Side = "top" | "right" | "bottom" | "left";
export interface Underlay { sha256: string; pixels: [Position, Position]; metres: [Position, Position] }
export type Loads = Partial<Record<"floor_dead_kpa" | "floor_live_kpa" | "wall_dead_kpa" | "wall_m" | "roof_dead_kpa" | "roof_live_kpa" | "roof_m", number>>;

export interface Plan {
  supports?: Support[];
  spots?: Spot[];
  datums?: Datum[];
  bearers?: Bearer[];
  joists?: Joists;
  walls?: Wall[];
  rooms?: Room[];
  fixed?: Thing[];
  doors?: Thing[];
  hatches?: Thing[];
  street?: Side;
  underlay?: Underlay;
  loads?: Loads;
}

/** The sorts of thing of which a plan has many. */
export type Sort = "support" | "spot" | "datum" | "bearer" | "wall" | "room" | "fixed" | "door" | "hatch";

/** The list of a plan that holds each sort. */
export const listOf = {
  support: "supports", spot: "spots", datum: "datums", bearer: "bearers", wall: "walls", room: "rooms", fixed: "fixed", door: "doors", hatch: "hatches",
} as const satisfies Record<Sort, keyof Plan>;

/** Sorts that stand at one point and have a name that records refer to. */
export const places = ["support", "spot", "datum"] as const;
export type PlaceSort = (typeof places)[number];

/** Sorts that lie on the floor, under everything that stands. */
export const grounds = ["room", "wall", "fixed", "door", "hatch"] as const;

/** One thing of a plan: by its name, or by its number in its list where it has none. */
export type Key = `${Sort}:${string}`;

export const keyOf = (sort: Sort, id: string | number): Key => `${sort}:${id}`;

export function parts(key: Key): { sort: Sort; id: string } {
  const at = key.indexOf(":");
  return { sort: key.slice(0, at) as Sort, id: key.slice(at + 1) };
}

export function isPlace(sort: Sort): sort is PlaceSort {
  return (places as readonly string[]).includes(sort);
}

/** A point at which something stands, by its name. */
export function placeOf(plan: Plan, id: string): Support | Spot | Datum | undefined {
  for (const sort of places) {
    const found = (plan[listOf[sort]] ?? []).find((p) => p.id === id);
    if (found) return found;
  }
  return undefined;
}

export function support(plan: Plan, id: string): Support | undefined {
  return plan.supports?.find((s) => s.id === id);
}

export function bearerOf(plan: Plan, id: string): Bearer | undefined {
  return plan.bearers?.find((b) => b.supports.includes(id));
}

/** The corners of what has an outline, with the list that holds it. */
export function outlineOf(plan: Plan, key: Key): Position[] {
  const { sort, id } = parts(key);
  switch (sort) {
    case "wall": {
      const w = plan.walls?.[Number(id)];
      return w ? [w.from, w.to] : [];
    }
    case "room": case "fixed": case "door": case "hatch":
      return plan[listOf[sort]]?.[Number(id)]?.outline ?? [];
    case "bearer":
      return (plan.bearers?.find((b) => b.id === id)?.supports ?? []).flatMap((s) => pointOf(plan, keyOf("support", s)));
    default:
      return pointOf(plan, key);
  }
}

function pointOf(plan: Plan, key: Key): Position[] {
  const { sort, id } = parts(key);
  const p = isPlace(sort) ? (plan[listOf[sort]] ?? []).find((one) => one.id === id) : undefined;
  return p ? [[p.x, p.y]] : [];
}

/** Everything on a plan, in the order in which it is listed. */
export function keysOf(plan: Plan): Key[] {
  return [
    ...(plan.bearers ?? []).map((b) => keyOf("bearer", b.id)),
    ...places.flatMap((sort) => (plan[listOf[sort]] ?? []).map((p) => keyOf(sort, p.id))),
    ...grounds.flatMap((sort) => (plan[listOf[sort]] ?? []).map((_, i) => keyOf(sort, i))),
  ];
}

export function isEmpty(plan: Plan): boolean {
  return keysOf(plan).length === 0;
}

/** The box around all that is drawn, or a room's worth where there is nothing. */
export function boxOf(plan: Plan, keys: Key[] = keysOf(plan)): { from: Position; to: Position } {
  const all = keys.flatMap((k) => outlineOf(plan, k));
  if (all.length === 0) return { from: [0, 0], to: [10, 7] };
  const xs = all.map((p) => p[0]), ys = all.map((p) => p[1]);
  return { from: [Math.min(...xs), Math.min(...ys)], to: [Math.max(...xs), Math.max(...ys)] };
}
