// Steps back and forward over one sitting, kept where a reload finds them.
import type { Plan } from "./plan.ts";

/** One step: the plan after it, and what it was, for people. */
export interface Step { plan: Plan; said: string }

export interface Steps {
  steps: Step[]; // the first is what was there before anything was done
  at: number; // the one that is shown
}

export const begun = (plan: Plan): Steps => ({ steps: [{ plan, said: "" }], at: 0 });

export const shown = (s: Steps): Plan => s.steps[s.at]!.plan;

const most = 300;

/** Does something. What was undone before is gone; steps of the same sort that
 *  follow each other, such as nudges, become one. */
export function done(s: Steps, plan: Plan, said: string, joins = false): Steps {
  if (plan === shown(s)) return s;
  const before = s.steps.slice(0, s.at + 1);
  if (joins && before.length > 1 && before[before.length - 1]!.said === said) before.pop();
  const steps = [...before, { plan, said }];
  if (steps.length > most) steps.splice(1, steps.length - most);
  return { steps, at: steps.length - 1 };
}

export const undone = (s: Steps): Steps => ({ ...s, at: Math.max(0, s.at - 1) });

export const redone = (s: Steps): Steps => ({ ...s, at: Math.min(s.steps.length - 1, s.at + 1) });

/** What was done last, and what would be done again. */
export const last = (s: Steps): string | undefined => (s.at > 0 ? s.steps[s.at]!.said : undefined);

export const next = (s: Steps): string | undefined => s.steps[s.at + 1]?.said;

/** What a sitting keeps: the steps, and what they began from. */
export interface Sitting extends Steps {
  base: Plan; // as it was recorded
  seen: number; // the number it was seen at
  form: string; // the id the event will have
}

/** Where sittings are kept: sessionStorage, or a map in tests. */
export interface Shelf {
  getItem(name: string): string | null;
  setItem(name: string, text: string): void;
  removeItem(name: string): void;
}

const version = 1;

export function keep(shelf: Shelf, name: string, s: Sitting): boolean {
  for (let drop = 0; ; drop = drop === 0 ? Math.ceil(s.steps.length / 2) : drop + Math.ceil((s.steps.length - drop) / 2)) {
    const cut = Math.min(drop, s.at); // the oldest steps go first, never what is shown
    try {
      shelf.setItem(name, JSON.stringify({ version, ...s, steps: s.steps.slice(cut), at: s.at - cut }));
      return true;
    } catch {
      if (cut === s.at) return false;
    }
  }
}

/** What was kept, or undefined where there is nothing that can be read. */
export function kept(shelf: Shelf, name: string): Sitting | undefined {
  try {
    const found = JSON.parse(shelf.getItem(name) ?? "null") as (Sitting & { version: number }) | null;
    if (!found || found.version !== version || !found.steps[found.at]) return undefined;
    return { steps: found.steps, at: found.at, base: found.base, seen: found.seen, form: found.form };
  } catch {
    return undefined;
  }
}
