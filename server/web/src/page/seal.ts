// Sealing: the copies of an event's shots are made, then its text is fixed. It goes
// on at the next start where the app was killed in between.
import type { Copy, Kept, Shot } from "../shared/kept.ts";

/** How long making a copy may take before the picture is sent as it is. */
const longestMS = 10_000;

/** What the server takes. A file that is named in an event and can never be sent would
 *  keep the event out of the log. */
const most = { photo: 16 * 2 ** 20, sound: 2 ** 20 };

export class Sealer {
  private running: Promise<void> | undefined;

  constructor(private kept: Kept, private shrink: (media: string, data: ArrayBuffer) => Promise<ArrayBuffer>) {}

  /** Seals whatever waits for it, by counter. Two calls at once are one. */
  run(): Promise<void> {
    this.running ??= this.all().finally(() => (this.running = undefined));
    return this.running;
  }

  private async all(): Promise<void> {
    for (const own of await this.kept.unsealed()) {
      const copies = [];
      for (const shot of await this.kept.shotsOf([own.counter])) copies.push(await this.copyOf(shot));
      await this.kept.seal(own.counter, copies);
    }
  }

  private async copyOf(shot: Shot): Promise<Copy> {
    const original = await this.kept.originalOf(shot);
    // Without its bytes a shot can never be sent; its event, and all after it, must be.
    if (!original) return lost(shot, "its bytes are gone from this phone");
    const small = shot.type === "photo" ? await this.tryToShrink(shot.media, original) : undefined;
    const data = small ?? original;
    if (data.byteLength > most[shot.type]) {
      return lost(shot, `it is too large to be sent, ${Math.round(data.byteLength / 2 ** 20)} MB: save it to a file`);
    }
    const sha256 = hex(await crypto.subtle.digest("SHA-256", data));
    return { id: shot.id, media: small ? "image/jpeg" : shot.media, sha256, data: small, bytes: data.byteLength };
  }

  private async tryToShrink(media: string, data: ArrayBuffer): Promise<ArrayBuffer | undefined> {
    try {
      return await Promise.race([this.shrink(media, data.slice(0)), tooLong()]);
    } catch {
      return undefined; // a picture that cannot be decoded is evidence as it is
    }
  }
}

function lost(shot: Shot, why: string): Copy {
  return { id: shot.id, media: shot.media, sha256: "", data: undefined, bytes: 0, lost: why };
}

function tooLong(): Promise<undefined> {
  return new Promise((done) => setTimeout(done, longestMS, undefined));
}

export function hex(digest: ArrayBuffer): string {
  return Array.from(new Uint8Array(digest), (b) => b.toString(16).padStart(2, "0")).join("");
}

/** The worker that shrinks, started when it is first wanted and anew when it ends. */
export class Shrinker {
  private worker: Worker | undefined;
  private waiting = new Map<number, { done: (d: ArrayBuffer) => void; failed: (e: Error) => void }>();
  private last = 0;

  shrink = (media: string, data: ArrayBuffer): Promise<ArrayBuffer> => {
    const id = ++this.last;
    return new Promise((done, failed) => {
      this.waiting.set(id, { done, failed });
      this.start().postMessage({ id, media, data }, [data]);
    });
  };

  private start(): Worker {
    if (this.worker) return this.worker;
    const worker = new Worker("shrink.js", { type: "module" });
    worker.onmessage = (m: MessageEvent<{ id: number; data?: ArrayBuffer; failed?: string }>) => {
      const { id, data, failed } = m.data;
      const w = this.waiting.get(id);
      this.waiting.delete(id);
      if (data) w?.done(data);
      else w?.failed(new Error(failed));
    };
    worker.onerror = (e) => {
      worker.terminate();
      this.worker = undefined;
      const all = [...this.waiting.values()];
      this.waiting.clear();
      for (const w of all) w.failed(new Error(e.message || "the worker could not be started"));
    };
    return (this.worker = worker);
  }
}
