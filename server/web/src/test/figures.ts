// The phone's reckoning under node: the fold as WebAssembly.
import { readFile } from "node:fs/promises";
import { createRequire } from "node:module";
import type { ID } from "../shared/event.ts";
import type { Heard } from "../shared/kept.ts";

declare global {
  var Go: new () => { importObject: WebAssembly.Imports; run(i: WebAssembly.Instance): Promise<void> };
  var relevel: (name: string, request: string) => string;
}

export class Figures {
  private constructor() {}

  /** Starts what `make phonewasm` builds, by Go's own runtime file. */
  static async start(runtime: string, wasm: string): Promise<Figures> {
    createRequire(import.meta.url)(runtime);
    const go = new Go();
    const { instance } = await WebAssembly.instantiate(await readFile(wasm), go.importObject);
    void go.run(instance);
    return new Figures();
  }

  /** The state of a job by the events of a list, taken in pages of some length. */
  state(job: ID, list: Heard[], now: string, length: () => number): unknown {
    for (let at = 0; at < list.length; ) {
      const page = list.slice(at, (at += length()));
      const taken = ask("take", { job, events: page }) as { refused?: unknown };
      if (taken.refused) throw new Error(`the book refuses ${JSON.stringify(taken.refused)}`);
    }
    const state = ask("state", { job, now });
    ask("forget", { job });
    return state;
  }
}

function ask(name: string, request: object): unknown {
  return JSON.parse(relevel(name, JSON.stringify(request)));
}
