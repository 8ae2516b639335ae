import { say } from "./say.ts";

// Kinds in the trade's words, as the book has them.
const kinds: Record<string, string> = {
  "plan": "Plan", "found": "Found", "aim": "Aim agreed", "condition": "Condition", "safety-check": "Safety check", "tie": "Tie", "tie-freed": "Tie freed",
  "tie-back": "Tie back", "floor-cut": "Floor cut", "floor-closed": "Floor closed", "finding": "Finding", "finding-closed": "Finding closed",
  "support-work": "Support work", "inspection": "Inspection", "under-floor": "Under the floor", "instrument-check": "Instrument check", "setup": "Set-up",
  "setup-closed": "Set-up closed", "reading": "Read", "difference": "Difference", "blocking": "Blocking", "blocking-removed": "Blocking away",
  "jacking": "Jacked", "packing": "Packed", "jack-down": "Jack down", "signed": "Signed", "gap-reading": "Gap", "incident": "Incident", "stop": "Stop",
  "go-ahead": "Go-ahead", "change": "Change", "change-answered": "Change answered", "day-end": "Day’s end", "handover": "Hand-over", "note": "Note", "void": "Taken back", "erased": "Erased",
};

export function kindWord(kind: string): string {
  return say(kinds[kind] ?? kind);
}

/** What the button says that records a kind. */
const verbs: Record<string, string> = {
  "reading": "Read", "jacking": "Jack up", "packing": "Pack", "jack-down": "Jack down", "signed": "Sign", "blocking": "Block", "blocking-removed": "Blocking away",
  "go-ahead": "Go ahead", "tie-freed": "Free a tie", "support-work": "Done", "finding": "Finding", "setup": "Set up", "aim": "The office agrees the aim",
};

export function verb(kind: string): string {
  return kind in verbs ? say(verbs[kind]!) : kindWord(kind);
}

/** A phrase that stands alone. */
export function sentence(phrase: string): string {
  return phrase && `${phrase[0]!.toUpperCase()}${phrase.slice(1)}.`;
}
