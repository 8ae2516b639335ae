// Saving what was not sent to a file: the last resort of a phone that finds no
// office any more. Texts stand in it as they were sealed, photos as base64.
import { hex } from "./seal.ts";
import type { Store } from "../shared/store.ts";

export async function saveToFile(store: Store): Promise<void> {
  const own = await store.unsettled();
  const shots = await store.shotsLeft();
  const files = [];
  for (const s of shots) {
    const data = (await store.bytesOf(s)) ?? new ArrayBuffer(0);
    files.push({ sha256: s.sha256 ?? hex(await crypto.subtle.digest("SHA-256", data)), media_type: s.media, record: s.counter, data: base64(data) });
  }
  const text = JSON.stringify({
    saved_at: new Date().toISOString(), device: await store.device(),
    events: own.map((o) => ({ record: o.counter, state: o.state, reason: o.reason, text: o.sealed ?? JSON.stringify(o.envelope) })), files,
  });
  const link = document.createElement("a");
  link.href = URL.createObjectURL(new Blob([text], { type: "application/json" }));
  link.download = `relevel-unsent-${new Date().toISOString().slice(0, 10)}.json`;
  link.click();
  setTimeout(() => URL.revokeObjectURL(link.href), 60_000);
}

function base64(data: ArrayBuffer): string {
  const bytes = new Uint8Array(data);
  let text = "";
  // In pieces: an argument list has an end.
  for (let i = 0; i < bytes.length; i += 8192) text += String.fromCharCode(...bytes.subarray(i, i + 8192));
  return btoa(text);
}
