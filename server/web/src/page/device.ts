// What the phone itself can and cannot do.

/** Recording needs a page that no stranger on the network can have changed. */
export const secure = () => globalThis.isSecureContext;

/** Whether the app runs from the home screen, where its store outlives a week. */
export function installed(): boolean {
  const standalone = (navigator as { standalone?: boolean }).standalone;
  return standalone === true || matchMedia("(display-mode: standalone)").matches;
}

/** iPhones and iPads, which wipe what a tab keeps after seven days of use. */
export function wipesTabs(): boolean {
  return /iPhone|iPad|iPod/.test(navigator.userAgent) || (navigator.platform === "MacIntel" && navigator.maxTouchPoints > 1);
}

/** One buzz for saved, two for doubt. Nobody may rely upon it. */
export function buzz(times: 1 | 2): void {
  navigator.vibrate?.(times === 1 ? 60 : [60, 120, 60]);
}

export interface Room {
  persisted: boolean;
  used?: number;
  quota?: number;
}

/** Asks that the store be kept when room is short, and how much there is. */
export async function room(): Promise<Room> {
  const store = navigator.storage;
  const persisted = (await store?.persist?.().catch(() => false)) ?? false;
  const { usage, quota } = (await store?.estimate?.().catch(() => ({}) as StorageEstimate)) ?? {};
  return { persisted, ...(usage === undefined ? {} : { used: usage }), ...(quota === undefined ? {} : { quota }) };
}

/** Keeps the screen on while somebody works, and lets it go off five minutes after
 *  the last touch. */
export class AwakeScreen {
  private lock: WakeLockSentinel | undefined;
  private wanted = false;
  private still: ReturnType<typeof setTimeout> | undefined;

  constructor(private stillMS = 300_000) {
    for (const kind of ["pointerdown", "keydown"]) addEventListener(kind, () => this.touched(), { passive: true });
    document.addEventListener("visibilitychange", () => this.touched());
  }

  want(wanted: boolean): void {
    if (wanted === this.wanted) return;
    this.wanted = wanted;
    if (wanted) this.touched();
    else this.release();
  }

  private touched(): void {
    if (!this.wanted || document.visibilityState !== "visible") return;
    clearTimeout(this.still);
    this.still = setTimeout(() => this.release(), this.stillMS);
    if (this.lock && !this.lock.released) return;
    navigator.wakeLock?.request("screen").then(
      (lock) => {
        if (this.wanted) this.lock = lock;
        else void lock.release();
      },
      () => {}, // low battery, or the browser has none: the phone's own time holds
    );
  }

  private release(): void {
    clearTimeout(this.still);
    void this.lock?.release().catch(() => {});
    this.lock = undefined;
  }
}

/** A name for this phone that the office can tell it by. */
export function deviceName(): string {
  const ua = navigator.userAgent;
  if (/iPhone/.test(ua)) return "iPhone";
  if (/iPad/.test(ua)) return "iPad";
  if (/Android/.test(ua)) return "Android phone";
  return "Phone";
}
