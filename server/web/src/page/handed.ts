// A set-up handed from one phone to another without signal: the exact event, packed
// into a code on the screen.
import type { Envelope, ID } from "../shared/event.ts";

const mark = "RL1:"; // what comes after is deflated and written in the code's own letters

/** The text of the code for an event. */
export async function pack(text: string): Promise<string> {
  const small = new Uint8Array(await new Response(new Blob([text]).stream().pipeThrough(new CompressionStream("deflate-raw"))).arrayBuffer());
  return mark + Array.from(small, (b) => b.toString(16).padStart(2, "0")).join("").toUpperCase();
}

/** The event in a scanned code, as its exact text. Whatever is no set-up of this job
 *  is an error in words. */
export async function unpack(code: string, job: ID): Promise<{ text: string; event: Envelope }> {
  if (!code.startsWith(mark)) throw new Error("That code is no set-up: the other phone shows it under “Hand a set-up over”.");
  let text: string;
  let event: Envelope;
  try {
    const small = Uint8Array.from(code.slice(mark.length).match(/../g) ?? [], (h) => parseInt(h, 16));
    text = await new Response(new Blob([small]).stream().pipeThrough(new DecompressionStream("deflate-raw"))).text();
    event = JSON.parse(text) as Envelope;
  } catch {
    throw new Error("The code could not be read whole: hold the phone still and scan it again.");
  }
  if (event.kind !== "setup") throw new Error("That code is no set-up.");
  if (event.job !== job) throw new Error("That set-up belongs to another job: open the same one on both phones.");
  return { text, event };
}
