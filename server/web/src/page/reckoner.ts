// The page's side of the worker that reckons. It is started after the first paint,
// and again when it ended; recording never waits for it.
import type { ID } from "../shared/event.ts";

type Answer = { error?: { field?: string; detail: string } };

export class ReckoningError extends Error {
  override name = "ReckoningError";
  /** Whether the worker let its books go, so that the events are to be taken again. */
  constructor(message: string, public empty: boolean) {
    super(message);
  }
}

export class Reckoner {
  private worker: Worker | undefined;
  private pending = new Map<number, { done: (v: unknown) => void; failed: (e: Error) => void }>();
  private last = 0;
  startedMS: number | undefined; // how long the worker took
  onRestart: () => void = () => {};

  constructor(private make: () => Worker = () => new Worker("figures.js")) {}

  start(): void {
    if (this.worker) return;
    const begun = performance.now();
    const worker = this.make();
    this.worker = worker;
    worker.onmessage = (m: MessageEvent<{ ready?: boolean; failed?: string; id?: number; answer?: string }>) => {
      if (m.data.ready) this.startedMS = performance.now() - begun;
      else if (m.data.failed !== undefined) this.ended(m.data.failed);
      else this.answered(m.data.id!, m.data.answer!);
    };
    worker.onerror = (e) => this.ended(e.message || "the worker could not be started");
  }

  /** Asks by name; the request and the answer are those of relevel.d.ts. */
  call<T>(name: string, request: object): Promise<T> {
    this.start();
    const id = ++this.last;
    return new Promise<T>((done, failed) => {
      this.pending.set(id, { done: done as (v: unknown) => void, failed });
      this.worker!.postMessage({ id, name, request: JSON.stringify(request) });
    });
  }

  private answered(id: number, text: string): void {
    const waiting = this.pending.get(id);
    this.pending.delete(id);
    const answer = JSON.parse(text) as Answer;
    if (!answer || !answer.error) waiting?.done(answer);
    else waiting?.failed(new ReckoningError(answer.error.detail, answer.error.field === undefined));
  }

  private ended(why: string): void {
    this.worker?.terminate();
    this.worker = undefined;
    const waiting = [...this.pending.values()];
    this.pending.clear();
    for (const w of waiting) w.failed(new ReckoningError(why, true));
  }
}

/** How the worker is asked of one job. */
export function ofJob(job: ID, rest: object = {}): object {
  return { job, ...rest };
}
