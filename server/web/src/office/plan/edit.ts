// What can be done to a plan. Each function takes a plan and returns another; what
// did not change is shared by both, so that a step back costs next to nothing.
import { along, buttedM, direction, onLine, round } from "./geometry.ts";
import { buttedNames, nextBearer, nextOn, nextPlace, rename } from "./naming.ts";
import { bearerOf, isPlace, keyOf, keysOf, listOf, parts, support, type Bearer, type JoinSort, type Key, type Plan, type PlaceSort, type Position, type Sort } from "./plan.ts";

/** What was done, and what it is about now. */
export interface Done { plan: Plan; keys: Key[] }

function put<S extends Sort>(plan: Plan, sort: S, list: unknown[]): Plan {
  const out = { ...plan };
  if (list.length === 0) delete out[listOf[sort]];
  else Object.assign(out, { [listOf[sort]]: list });
  return out;
}

function list(plan: Plan, sort: Sort): { id?: string }[] {
  return (plan[listOf[sort]] ?? []) as { id?: string }[];
}

/** How bearers are put down: the first one, and how many beside it. */
export interface Rows {
  start: Position;
  deg: number; // which way they run
  at: number[]; // of the supports, from the start
  count: number;
  apart: number; // metres, to the left of the way they run; negative: to the right
}

/** Puts down bearers with their supports, each named by its number on its bearer. */
export function addBearers(plan: Plan, rows: Rows): Done {
  const [dx, dy] = direction(rows.deg);
  const bearers: Bearer[] = [];
  const supports = [...(plan.supports ?? [])];
  for (let i = 0; i < rows.count; i++) {
    const id = nextBearer(plan, bearers.map((b) => b.id));
    const from: Position = [rows.start[0] - dy * rows.apart * i, rows.start[1] + dx * rows.apart * i];
    const names = along(from, rows.deg, rows.at).map(([x, y], n) => {
      const name = freeName({ ...plan, supports }, `${id}-${n + 1}`);
      supports.push({ id: name, x, y });
      return name;
    });
    bearers.push({ ...sectionLike(plan), id, supports: names });
  }
  return { plan: { ...plan, supports, bearers: [...(plan.bearers ?? []), ...bearers] }, keys: bearers.map((b) => keyOf("bearer", b.id)) };
}

/** A name that is on the plan already, perhaps because somebody gave it, is left
 *  alone. */
function freeName(plan: Plan, name: string): string {
  const taken = (n: string): boolean => [...(plan.supports ?? []), ...(plan.spots ?? []), ...(plan.datums ?? [])].some((p) => p.id === n);
  let free = name;
  while (taken(free)) free += "x";
  return free;
}

/** A new bearer is of the same timber as the one before, where that is known. */
function sectionLike(plan: Plan): Partial<Bearer> {
  const last = plan.bearers?.at(-1);
  const same: Partial<Bearer> = {};
  if (last?.width_mm !== undefined) same.width_mm = last.width_mm;
  if (last?.depth_mm !== undefined) same.depth_mm = last.depth_mm;
  if (last?.e_mpa !== undefined) same.e_mpa = last.e_mpa;
  if (last?.grade !== undefined) same.grade = last.grade;
  return same;
}

/** More bearers beside one that is there, with as many supports. */
export function repeatBearer(plan: Plan, id: string, count: number, apart: number): Done {
  const b = plan.bearers?.find((one) => one.id === id);
  const at = (b?.supports ?? []).map((s) => support(plan, s)!);
  if (!b || at.length === 0) return { plan, keys: [] };
  const [first, last] = [at[0]!, at[at.length - 1]!];
  const long = Math.hypot(last.x - first.x, last.y - first.y) || 1;
  const [nx, ny] = [-(last.y - first.y) / long, (last.x - first.x) / long];
  let out = plan;
  const keys: Key[] = [];
  for (let i = 1; i <= count; i++) {
    const copied = copyBearer(out, b, [nx * apart * i, ny * apart * i]);
    out = copied.plan;
    keys.push(...copied.keys);
  }
  return { plan: out, keys };
}

function copyBearer(plan: Plan, b: Bearer, by: Position): Done {
  const id = nextBearer(plan);
  let supports = plan.supports ?? [];
  const names = new Map<string, string>();
  b.supports.forEach((was, i) => {
    const s = support(plan, was);
    if (!s) return;
    const tail = /-(\d+[a-z]*)$/.exec(was)?.[1] ?? String(i + 1);
    const name = freeName({ ...plan, supports }, `${id}-${tail}`);
    names.set(was, name);
    supports = [...supports, { ...s, id: name, x: round(s.x + by[0]), y: round(s.y + by[1]) }];
  });
  const copy: Bearer = { ...b, id, supports: b.supports.flatMap((s) => names.get(s) ?? []) };
  if (b.joins) copy.joins = b.joins.map((j) => ({ ...j, at: names.get(j.at)!, ...(j.other ? { other: names.get(j.other)! } : {}) }));
  return { plan: { ...plan, supports, bearers: [...(plan.bearers ?? []), copy] }, keys: [keyOf("bearer", id)] };
}

/** A support, spot or datum by itself. */
export function addPlace(plan: Plan, sort: PlaceSort, at: Position): Done {
  const id = nextPlace(plan, sort);
  const one = { id, x: round(at[0]), y: round(at[1]), ...(sort === "datum" && !(plan.datums ?? []).length ? { height: 0 } : {}) };
  return { plan: put(plan, sort, [...list(plan, sort), one]), keys: [keyOf(sort, id)] };
}

/** A support on a bearer, between the two that are there or beyond its end. */
export function addOnBearer(plan: Plan, bearer: string, at: Position): Done {
  const b = plan.bearers?.find((one) => one.id === bearer);
  if (!b) return addPlace(plan, "support", at);
  const after = placeAlong(plan, b, at);
  const id = nextOn(plan, b, after);
  const supports = [...(plan.supports ?? []), { id, x: round(at[0]), y: round(at[1]) }];
  const order = [...b.supports.slice(0, after + 1), id, ...b.supports.slice(after + 1)];
  return { plan: withBearer({ ...plan, supports }, { ...b, supports: order }), keys: [keyOf("support", id)] };
}

/** The number of the support after which a place lies along a bearer, −1: before the
 *  first. */
export function placeAlong(plan: Plan, b: Bearer, at: Position): number {
  const stands = b.supports.flatMap((s) => support(plan, s) ?? []);
  const [first, last] = [stands[0], stands[stands.length - 1]];
  if (!first || !last || first === last) return b.supports.length - 1;
  const t = onLine(at, [first.x, first.y], [last.x, last.y]).t;
  return stands.filter((s) => onLine([s.x, s.y], [first.x, first.y], [last.x, last.y]).t <= t).length - 1;
}

function withBearer(plan: Plan, b: Bearer): Plan {
  return { ...plan, bearers: (plan.bearers ?? []).map((one) => (one.id === b.id ? b : one)) };
}

/** Puts a support on a bearer, or on none ("") . */
export function assign(plan: Plan, id: string, bearer: string): Plan {
  const off = takeOff(plan, new Set([id]));
  const b = off.bearers?.find((one) => one.id === bearer);
  const s = support(plan, id);
  if (!b || !s) return off;
  const after = placeAlong(off, b, [s.x, s.y]);
  return withBearer(off, { ...b, supports: [...b.supports.slice(0, after + 1), id, ...b.supports.slice(after + 1)] });
}

/** Takes supports out of their bearers, with the joins over them. A bearer that
 *  loses its last support is gone. */
function takeOff(plan: Plan, ids: Set<string>): Plan {
  if (!plan.bearers) return plan;
  const bearers = plan.bearers.flatMap((b) => {
    if (!b.supports.some((s) => ids.has(s))) return [b];
    const supports = b.supports.filter((s) => !ids.has(s));
    const joins = (b.joins ?? []).filter((j) => !ids.has(j.at) && !(j.other && ids.has(j.other)));
    const { joins: _, ...rest } = b;
    return supports.length ? [{ ...rest, supports, ...(joins.length ? { joins } : {}) }] : [];
  });
  return put(plan, "bearer", bearers);
}

/** What has an outline. A wall has two ends. */
export function addOutline(plan: Plan, sort: "wall" | "room" | "fixed" | "door" | "hatch", outline: Position[], name: string): Done {
  const at = outline.map(([x, y]): Position => [round(x), round(y)]);
  const one = sort === "wall" ? { from: at[0]!, to: at[1]! } : { name, outline: at };
  const all = [...list(plan, sort), one];
  return { plan: put(plan, sort, all), keys: [keyOf(sort, all.length - 1)] };
}

/** Changes fields of one thing; undefined takes a field away. */
export function change(plan: Plan, key: Key, fields: Record<string, unknown>): Plan {
  const { sort, id } = parts(key);
  const all = list(plan, sort).map((one, i) => {
    if (sort === "bearer" || isPlace(sort) ? one.id !== id : i !== Number(id)) return one;
    const out: Record<string, unknown> = { ...one, ...fields };
    for (const [name, value] of Object.entries(fields)) if (value === undefined) delete out[name];
    return out;
  });
  return put(plan, sort, all);
}

/** The supports that go along with things: a bearer takes its own. */
function carried(plan: Plan, keys: Key[]): Set<Key> {
  const all = new Set(keys);
  for (const key of keys) {
    const { sort, id } = parts(key);
    if (sort === "bearer") for (const s of plan.bearers?.find((b) => b.id === id)?.supports ?? []) all.add(keyOf("support", s));
  }
  return all;
}

/** Moves things, a bearer with its supports. */
export function move(plan: Plan, keys: Key[], by: Position): Plan {
  const moving = carried(plan, keys);
  const shift = ([x, y]: Position): Position => [round(x + by[0]), round(y + by[1])];
  let out = plan;
  const each = (sort: Sort, f: (one: never) => object): void => {
    const was = plan[listOf[sort]] as { id?: string }[] | undefined;
    if (!was) return;
    const now = was.map((one, i) => (moving.has(keyOf(sort, isPlace(sort) ? one.id! : i)) ? f(one as never) : one));
    if (now.some((one, i) => one !== was[i])) out = put(out, sort, now);
  };
  for (const sort of ["support", "spot", "datum"] as const) {
    each(sort, (p: { x: number; y: number }) => {
      const [x, y] = shift([p.x, p.y]);
      return { ...(p as object), x, y };
    });
  }
  each("wall", (w: { from: Position; to: Position }) => ({ ...(w as object), from: shift(w.from), to: shift(w.to) }));
  for (const sort of ["room", "fixed", "door", "hatch"] as const) each(sort, (t: { outline: Position[] }) => ({ ...(t as object), outline: t.outline.map(shift) }));
  return out;
}

/** Copies things beside themselves. Names are new, joins and sections stay. */
export function copy(plan: Plan, keys: Key[], by: Position): Done {
  let out = plan;
  const made: Key[] = [];
  const onBearers = new Set(keys.filter((k) => parts(k).sort === "bearer").flatMap((k) => [...carried(plan, [k])]));
  for (const key of keys) {
    const { sort, id } = parts(key);
    if (sort === "support" && onBearers.has(key)) continue; // its bearer brings it
    const done = copyOne(out, sort, id, by);
    out = done.plan;
    made.push(...done.keys);
  }
  return { plan: out, keys: made };
}

function copyOne(plan: Plan, sort: Sort, id: string, by: Position): Done {
  if (sort === "bearer") {
    const b = plan.bearers?.find((one) => one.id === id);
    return b ? copyBearer(plan, b, by) : { plan, keys: [] };
  }
  if (isPlace(sort)) {
    const p = (plan[listOf[sort]] ?? []).find((one) => one.id === id);
    const name = nextPlace(plan, sort);
    return p ? { plan: put(plan, sort, [...list(plan, sort), { ...p, id: name, x: round(p.x + by[0]), y: round(p.y + by[1]) }]), keys: [keyOf(sort, name)] } : { plan, keys: [] };
  }
  const all = list(plan, sort);
  const twice = put(plan, sort, [...all, all[Number(id)]!]);
  const key = keyOf(sort, all.length);
  return { plan: move(twice, [key], by), keys: [key] };
}

/** Takes things away, a bearer with its supports. */
export function remove(plan: Plan, keys: Key[]): Plan {
  const gone = carried(plan, keys);
  let out = takeOff(plan, new Set([...gone].filter((k) => parts(k).sort === "support").map((k) => parts(k).id)));
  for (const sort of Object.keys(listOf) as Sort[]) {
    const was = list(out, sort);
    const kept = was.filter((one, i) => !gone.has(keyOf(sort, sort === "bearer" || isPlace(sort) ? one.id! : i)));
    if (kept.length < was.length) out = put(out, sort, kept);
  }
  return out;
}

/** The join over a support, or between it and the next one, undefined without. */
export function joinAt(plan: Plan, id: string): JoinSort | undefined {
  return bearerOf(plan, id)?.joins?.find((j) => j.at === id || j.other === id)?.sort;
}

/** Makes two lengths of a bearer meet over a support, or one again. A butted join
 *  makes two supports of it that share the stump, ten centimetres apart. */
export function setJoin(plan: Plan, id: string, sort: JoinSort | undefined, records: Record<string, number>): Done {
  const b = bearerOf(plan, id);
  if (!b) return { plan, keys: [keyOf("support", id)] };
  const was = b.joins?.find((j) => j.at === id || j.other === id);
  if (was?.sort === sort) return { plan, keys: [keyOf("support", id)] };
  if (was?.sort === "butted") return setJoinOver(...oneOfTwo(plan, b, was.at, was.other!, records), sort, records);
  return setJoinOver(without(plan, b, id), id, sort, records);
}

function without(plan: Plan, b: Bearer, id: string): Plan {
  const joins = (b.joins ?? []).filter((j) => j.at !== id);
  const { joins: _, ...rest } = b;
  return withBearer(plan, joins.length ? { ...rest, joins } : rest);
}

function setJoinOver(plan: Plan, id: string, sort: JoinSort | undefined, records: Record<string, number>): Done {
  const b = bearerOf(plan, id);
  if (!b || !sort) return { plan, keys: [keyOf("support", id)] };
  if (sort === "butted") return butt(plan, b, id, records);
  return { plan: withBearer(plan, { ...b, joins: [...(b.joins ?? []), { at: id, sort }] }), keys: [keyOf("support", id)] };
}

/** One support becomes two. One with records keeps its name for the first end. */
function butt(plan: Plan, b: Bearer, id: string, records: Record<string, number>): Done {
  const s = support(plan, id)!;
  const [dx, dy] = runs(plan, b);
  const [a, other] = buttedNames(plan, id);
  const firstName = records[id] ? id : a;
  const named = rename(plan, id, firstName);
  const half = buttedM / 2;
  const supports = named.supports!.map((one) => (one.id === firstName ? { ...one, x: round(s.x - dx * half), y: round(s.y - dy * half) } : one));
  supports.push({ ...s, id: other, x: round(s.x + dx * half), y: round(s.y + dy * half) });
  const bearer = named.bearers!.find((one) => one.id === b.id)!;
  const i = bearer.supports.indexOf(firstName);
  const order = [...bearer.supports.slice(0, i + 1), other, ...bearer.supports.slice(i + 1)];
  const joins = [...(bearer.joins ?? []), { at: firstName, other, sort: "butted" as const }];
  return { plan: withBearer({ ...named, supports }, { ...bearer, supports: order, joins }), keys: [keyOf("support", firstName), keyOf("support", other)] };
}

/** Two ends become one support in their middle; which name stays, the records say. */
function oneOfTwo(plan: Plan, b: Bearer, at: string, other: string, records: Record<string, number>): [Plan, string] {
  const [keep, drop] = records[other] && !records[at] ? [other, at] : [at, other];
  const [p, q] = [support(plan, keep)!, support(plan, drop)!];
  const gone = remove(without(plan, b, at), [keyOf("support", drop)]);
  const merged = change(gone, keyOf("support", keep), { x: round((p.x + q.x) / 2), y: round((p.y + q.y) / 2) });
  const plain = keep.replace(/(-\d+)[ab]$/, "$1");
  const free = !records[keep] && plain !== keep && !support(merged, plain);
  return free ? [rename(merged, keep, plain), plain] : [merged, keep];
}

/** Which way a bearer runs. */
export function runs(plan: Plan, b: Bearer): Position {
  const at = b.supports.flatMap((s) => support(plan, s) ?? []);
  const [first, last] = [at[0], at[at.length - 1]];
  const long = first && last ? Math.hypot(last.x - first.x, last.y - first.y) : 0;
  return long === 0 ? [1, 0] : [(last!.x - first!.x) / long, (last!.y - first!.y) / long];
}

/** The other way of naming a bearer. Its supports keep their names. */
export function renameBearer(plan: Plan, was: string, id: string): Plan {
  return { ...plan, bearers: (plan.bearers ?? []).map((b) => (b.id === was ? { ...b, id } : b)) };
}

/** A plain house to begin with: walls around, bearers along it. */
export interface Rectangle { length: number; width: number; apart: number; spacing: number }

export function rectangle(plan: Plan, r: Rectangle): Done {
  const rowsOf = (long: number, step: number): number => Math.max(2, Math.round(long / step) + 1);
  const [count, each] = [rowsOf(r.width, r.apart), rowsOf(r.length, r.spacing)];
  const at = Array.from({ length: each }, (_, i) => round((r.length / (each - 1)) * i));
  const corners: Position[] = [[0, 0], [r.length, 0], [r.length, r.width], [0, r.width]];
  let out = addBearers(plan, { start: [0, 0], deg: 0, at, count, apart: r.width / (count - 1) }).plan;
  corners.forEach((c, i) => {
    out = addOutline(out, "wall", [c, corners[(i + 1) % 4]!], "").plan;
  });
  const walls = (out.walls ?? []).map((w) => ({ ...w, roof: true }));
  return { plan: { ...out, walls, joists: out.joists ?? { direction_deg: 90, spacing_mm: 450 } }, keys: keysOf(out).filter((k) => parts(k).sort === "bearer") };
}
