// What relevel.wasm sets on the worker's global. Requests and answers are JSON
// text; an answer is the value below, or Failed. Field names and values are those
// of the API. Times are RFC 3339; now is wanted in the job's zone.
//
// A job's book is opened by the first call that names the job, and lives as long as
// the worker. The events themselves are kept by the page.

/** A wrong request names the field. Without one it is the reckoning that failed:
 *  then every book was let go, and the events are to be taken again. */
interface Failed {
  error: { field?: string; detail: string };
}

/** A book after a call. What is numbered above seq, in any answer, is on this phone
 *  only, and its number is provisional. */
interface Counts {
  seq: number; // the greatest number of the server's
  unsent: number; // own events without a number
  refused?: { index: number; field?: string; detail: string }[]; // by place in the request; all others were taken
}

/** Phrases and drawings write lengths in units, mm where nothing is said; figures are
 *  always mm. */
interface OnJob {
  job: string;
  units?: "mm" | "in" | "ft";
}

/** A drawing wants the region of the firm's words, and the initials of who may have
 *  signed, by person. Ask with the same now as for the state: the picture of a book
 *  at one time is reckoned once. */
interface Drawn extends OnJob {
  now: string;
  region: "AU" | "NZ" | "UK" | "US";
  initials?: Record<string, string>;
}

/** SVG for inclusion in the page, as the server draws it; its ink is drawing.css. */
interface Sheet {
  svg: string;
}

interface Calls {
  /** Takes in events as GET jobs/{job}/events lists them, in any order and again. An
   *  own event gets its number by it. */
  take: { request: OnJob & { events: unknown[] }; answer: Counts };

  /** Takes in own events that the server has not numbered: they count at once. The
   *  same id again replaces it, as when photos were sealed into it. */
  record: { request: OnJob & { events: unknown[] }; answer: Counts };

  /** Takes own events out again that the server put into quarantine. */
  drop: { request: OnJob & { ids: string[] }; answer: Counts };

  /** The whole state with the rounds, as GET jobs/{job}/state. */
  state: { request: OnJob & { now: string }; answer: unknown };

  /** The named supports as the state has them, in the plan's order. */
  figures: { request: OnJob & { now: string; names: string[] }; answer: unknown[] };

  /** The last lines of the book, the latest at the end. */
  lines: { request: OnJob & { limit: number }; answer: unknown[] };

  /** What the bearer over a support says of a move, and what the support carries;
   *  without move_mm above 0 it is the lift that is left. */
  carrying: {
    request: OnJob & { now: string; support: string; move_mm?: number; thickness_mm?: number; bag_litres?: number };
    answer: { carrying?: unknown; load?: unknown };
  };

  /** The aims that the floor could have; profiles are the firm's own. */
  choices: { request: OnJob & { margin_mm?: number; profiles?: unknown[] }; answer: unknown[] };

  /** The packers that can be cut now; practice is the firm's. */
  packers: { request: OnJob & { now: string; practice: unknown }; answer: unknown[] };

  /** The plan, after quarter turns clockwise, with what the round under way says of
   *  each post if that is wanted. Every support is a link to
   *  #/job/{job}/support/{id}, where decodeURIComponent gives back the id. */
  floor: { request: Drawn & { turn?: number; round?: boolean }; answer: Sheet };

  /** One support in section. */
  section: { request: Drawn & { support: string }; answer: Sheet };

  /** The line along one bearer; "" where fewer than two of its heights are known. */
  line: { request: Drawn & { bearer: string }; answer: Sheet };

  /** Lets a job's book go. */
  forget: { request: OnJob; answer: Record<string, never> };

  /** A calculator by its name, as POST calc/{name}. */
  calc: { request: { name: string; input: unknown }; answer: unknown };
}

/** Answers at once; a worker is one thread. */
declare function relevel(name: keyof Calls, request: string): string;
