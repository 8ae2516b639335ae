// What the office signed of a job's log, as a phone reads and compares it: C2SP's
// tlog-checkpoint, and the proof that one continues another (RFC 9162, section
// 2.1.4.2) as tlog-witness writes it. Signatures are not checked here: the phone knows
// its office by the connection, and keeps the note for those who check them.

/** A checkpoint: how many records, and the root of their tree. */
export interface Checkpoint {
  size: number;
  root: string; // base64
  note: string; // as it was signed
}

// Sizes that the bit operations below hold; a job has thousands.
const most = 2 ** 30;
const base64 = /^[A-Za-z0-9+/]{43}=$/;

/** Reads a signed note; undefined where it is none. */
export function readNote(note: string): Checkpoint | undefined {
  const [origin, size, root] = note.split("\n");
  const n = sizeOf(size);
  if (!origin || n === undefined || !base64.test(root ?? "") || !note.includes("\n\n— ")) return undefined;
  return { size: n, root: root!, note };
}

/** Reads a proof that a checkpoint continues the log as it was at an older size. */
export function readJoint(text: string): { old: number; path: string[]; shown: Checkpoint } | undefined {
  const split = text.indexOf("\n\n");
  const [first, ...path] = text.slice(0, split).split("\n");
  const old = first?.startsWith("old ") ? sizeOf(first.slice(4)) : undefined;
  const shown = readNote(text.slice(split + 2));
  if (split < 0 || old === undefined || !shown || path.length > 63 || !path.every((h) => base64.test(h))) return undefined;
  return { old, path, shown };
}

function sizeOf(text: string | undefined): number | undefined {
  return /^(0|[1-9]\d*)$/.test(text ?? "") && Number(text) < most ? Number(text) : undefined;
}

/** Whether a path leads from one checkpoint to a larger one. */
export async function joins(held: Checkpoint, shown: Checkpoint, path: string[]): Promise<boolean> {
  if (held.size < 1 || held.size >= shown.size) return false;
  const steps = path.map(bytesOf);
  if ((held.size & (held.size - 1)) === 0) steps.unshift(bytesOf(held.root)); // a whole subtree is its own start
  let before = steps[0], after = steps[0];
  if (!before || !after) return false;
  let at = held.size - 1, end = shown.size - 1;
  for (; at & 1; at >>= 1) end >>= 1;
  for (const step of steps.slice(1)) {
    if (end === 0) return false;
    if (at & 1 || at === end) {
      before = await node(step, before);
      after = await node(step, after);
      for (; at !== 0 && !(at & 1); at >>= 1) end >>= 1;
    } else after = await node(after, step);
    at >>= 1;
    end >>= 1;
  }
  return end === 0 && same(before, bytesOf(held.root)) && same(after, bytesOf(shown.root));
}

/** The hash of a node over its two halves. */
async function node(left: Uint8Array, right: Uint8Array): Promise<Uint8Array> {
  const both = new Uint8Array(1 + left.length + right.length);
  both[0] = 1;
  both.set(left, 1);
  both.set(right, 1 + left.length);
  return new Uint8Array(await crypto.subtle.digest("SHA-256", both));
}

function bytesOf(hash: string): Uint8Array {
  return Uint8Array.from(atob(hash), (c) => c.charCodeAt(0));
}

function same(a: Uint8Array, b: Uint8Array): boolean {
  return a.length === b.length && a.every((x, i) => x === b[i]);
}
