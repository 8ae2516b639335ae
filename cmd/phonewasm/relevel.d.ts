// What the WebAssembly sets on the worker's global. Requests and answers are JSON
// text; an answer is the value below, or Refused.

interface Refused { error: { field?: string; detail: string } }

/** A book after a call: the server's greatest number, and how many of this phone's
 *  events the server has not numbered. */
interface Counts { seq: number; unsent: number }

interface Calls {
  /** Events as GET jobs/{job}/events lists them, in any order and again. */
  take: { request: { job: string; events: { seq: number; recorded_at: string; event?: unknown; erased?: boolean }[] }; answer: Counts };
  /** Sealed events of this phone's that were not sent, or not answered. */
  record: { request: { job: string; events: unknown[] }; answer: Counts };
  /** The whole state, as GET jobs/{job}/state has it. now is RFC 3339, in the job's zone. */
  state: { request: { job: string; now: string }; answer: unknown };
  /** Some supports as the state has them. */
  figures: { request: { job: string; now: string; names: string[] }; answer: unknown[] };
  /** What the bearer says; move_mm 0 is the whole lift. */
  carrying: { request: { job: string; support: string; move_mm?: number }; answer: unknown };
  /** The packers to cut; practice as GET practice answers. */
  packers: { request: { job: string; now: string; practice: unknown }; answer: unknown[] };
  /** Lets a book go. */
  forget: { request: { job: string }; answer: Record<string, never> };
  /** A calculator by its name. */
  calc: { request: { name: string; input: unknown }; answer: unknown };
}

declare function relevel(name: keyof Calls, request: string): string;
