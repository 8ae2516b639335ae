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
  private held = 0;

  constructor(private make: () => Worker = () => new Worker("figures.js")) {}

  start(): void {
    if (this.worker) return;
    const worker = this.make();
    this.worker = worker;
    this.held++;
    worker.onmessage = (m: MessageEvent<{ ready?: boolean; failed?: string; id?: number; answer?: string }>) => {
      if (m.data.ready) return;
      if (m.data.failed !== undefined) this.ended(m.data.failed);
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

  /** Changes whenever the worker has no books any more: whoever gave it one before
   *  gives it again. */
  get generation(): number {
    this.start();
    return this.held;
  }

  private answered(id: number, text: string): void {
    const waiting = this.pending.get(id);
    this.pending.delete(id);
    const answer = JSON.parse(text) as Answer;
    if (!answer || !answer.error) waiting?.done(answer);
    else waiting?.failed(this.failure(answer.error));
  }

  /** An error that names no field is one of the reckoning: the worker let all go. */
  private failure(e: { field?: string; detail: string }): ReckoningError {
    const empty = e.field === undefined;
    if (empty) this.held++;
    return new ReckoningError(e.detail, empty);
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
