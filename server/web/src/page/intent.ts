// What the camera was opened for. Android may end the app while the camera is open, and
// photos of a record that is not saved yet are nowhere else: so both are written down
// until the screen is left.
import type { Kept, Taken } from "../shared/kept.ts";

interface Written {
  hash: string; // of the screen
  typed: unknown; // what stood on it
  shots: Taken[]; // what was taken for it so far
  open: boolean; // the camera was not back yet
}

const name = "intent";

export class Intent {
  private of: string | undefined; // the screen it is written for
  private typed: unknown;
  private shots: Taken[] = [];

  constructor(private kept: Pick<Kept, "read" | "write">, private here: () => string = () => location.hash) {}

  /** The camera is about to open. */
  opens(typed: unknown, shots: Taken[]): Promise<void> {
    return this.write({ hash: this.here(), typed, shots, open: true });
  }

  /** The camera is back, or a shot was taken out. */
  took(typed: unknown, shots: Taken[]): Promise<void> {
    return this.write({ hash: this.here(), typed, shots, open: false });
  }

  private async write(w: Written): Promise<void> {
    this.of = w.hash;
    await this.kept.write(name, w).catch(() => {}); // without room for it the camera opens all the same
  }

  /** Another screen is shown: what was taken here was given up. */
  async moved(): Promise<void> {
    if (this.of !== this.here()) await this.saved();
  }

  /** What was taken is kept in a record now. */
  async saved(): Promise<void> {
    if (this.of === undefined) return;
    this.of = undefined;
    this.typed = undefined;
    this.shots = [];
    await this.kept.write(name, undefined).catch(() => {});
  }

  /** Where the app was when it was ended, if it is to go back there. What was written
   *  stays until that screen is left: the app may be ended again. */
  async resume(): Promise<{ hash: string; open: boolean } | undefined> {
    const w = await this.kept.read<Written>(name);
    if (!w || (!w.open && w.shots.length === 0)) return undefined;
    this.of = w.hash;
    this.typed = w.typed;
    this.shots = w.shots;
    return w;
  }

  /** What stood on this screen when the app was ended, once. */
  takeTyped<T>(): T | undefined {
    if (this.of !== this.here()) return undefined;
    const { typed } = this;
    this.typed = undefined;
    return typed as T | undefined;
  }

  /** What was taken for this screen when the app was ended, once. */
  takeShots(): Taken[] {
    if (this.of !== this.here()) return [];
    const { shots } = this;
    this.shots = [];
    return shots;
  }
}
