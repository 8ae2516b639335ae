// Time that is made up. It stands still while anything runs, and while the real
// server is asked; then it goes to the next moment that somebody waits for.

interface Wait {
  at: number;
  order: number;
  wake: () => void;
}

const never = new Promise<never>(() => {});

export class Scheduler {
  private waits: Wait[] = []; // the last comes first
  private order = 0;
  private outsides = 0;
  private back: (() => void) | undefined;

  constructor(public now: number) {}

  /** Waits; ends early when the signal says so. */
  sleep(ms: number, signal?: AbortSignal): Promise<void> {
    return new Promise((done) => {
      if (signal?.aborted) return done();
      this.at(this.now + ms, done);
      signal?.addEventListener("abort", () => done());
    });
  }

  at(time: number, wake: () => void): void {
    const wait = { at: time, order: this.order++, wake };
    let low = 0, high = this.waits.length;
    while (low < high) {
      const middle = (low + high) >> 1;
      if (this.waits[middle]!.at > time) low = middle + 1;
      else high = middle;
    }
    this.waits.splice(low, 0, wait);
  }

  /** A signal that ends something after so long. */
  timeout(ms: number): AbortSignal {
    const end = new AbortController();
    this.at(this.now + ms, () => end.abort("it took too long"));
    return end.signal;
  }

  /** What happens outside of this time takes none of it. */
  async outside<T>(real: Promise<T>): Promise<T> {
    this.outsides++;
    try {
      return await real;
    } finally {
      if (--this.outsides === 0) this.back?.();
    }
  }

  /** Lets time pass until something holds; answers whether it did before the end. */
  async run(until: () => boolean, end: number): Promise<boolean> {
    for (;;) {
      await this.still();
      if (until()) return true;
      const next = this.waits.at(-1);
      if (!next || next.at > end) return false;
      this.waits.pop();
      this.now = Math.max(this.now, next.at);
      next.wake();
    }
  }

  /** Resolves when all that was woken waits again. */
  private async still(): Promise<void> {
    await new Promise((done) => setImmediate(done));
    while (this.outsides > 0) {
      await new Promise<void>((done) => (this.back = done));
      await new Promise((done) => setImmediate(done));
    }
  }

  /** What whoever was killed waits for. */
  static get never(): Promise<never> {
    return never;
  }
}
