// What this program says itself is written in the words of the code; a firm's people
// read those of their region. What they typed and what they named is not said anew.

/** What the code calls something, and what the firm's region does. The office has one
 *  table for all that shows words; the longest come first. */
export interface Saying {
  code: string;
  said: string;
}

let said = new Map<string, string>();
let any: RegExp | undefined;

/** From now on all is said in these words. */
export function speak(sayings: Saying[] | undefined): void {
  said = new Map((sayings ?? []).map((s) => [s.code, s.said]));
  any = said.size > 0 ? new RegExp(`\\b(?:${[...said.keys()].join("|")})\\b`, "g") : undefined;
}

/** A sentence of the program in the firm's words. */
export function say(sentence: string): string {
  return any ? sentence.replace(any, (words) => said.get(words)!) : sentence;
}
