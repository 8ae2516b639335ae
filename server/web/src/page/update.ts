// New versions of the app. One waits until nothing is open, being written or sent.

const openForms = "relevel form open";

/** The lock of the window that sends. */
export const sends = "relevel sends";

export class Update {
  waiting = false;
  version: string | undefined;
  private next: ServiceWorker | undefined;

  constructor(private changed: () => void) {}

  /** Keeps the app on the phone, and looks for a new one now and then. */
  async start(): Promise<void> {
    const sw = navigator.serviceWorker;
    if (!sw) return;
    const had = sw.controller !== null;
    sw.addEventListener("controllerchange", () => had && this.next && location.reload());
    sw.addEventListener("message", (e: MessageEvent<{ version?: string }>) => {
      this.version = e.data.version ?? this.version;
      this.changed();
    });
    const registration = await sw.register("sw.js", { updateViaCache: "none" });
    this.look(registration);
    registration.addEventListener("updatefound", () => {
      registration.installing?.addEventListener("statechange", () => this.look(registration));
    });
    setInterval(() => void registration.update().catch(() => {}), 3_600_000);
    (await sw.ready).active?.postMessage("version");
  }

  private look(registration: ServiceWorkerRegistration): void {
    if (!registration.waiting || !navigator.serviceWorker.controller) return;
    this.next = registration.waiting;
    this.waiting = true;
    this.changed();
  }

  /** Lets the new version in; every window loads anew, so none may have anything open
   *  or be sending. */
  takeOver(): void {
    if (!this.waiting) return;
    const ask = () => this.next?.postMessage("take over");
    if (!navigator.locks) return ask();
    void navigator.locks.request(openForms, { ifAvailable: true }, async (none) => {
      if (none) await navigator.locks.request(sends, { ifAvailable: true }, async (silent) => silent && ask());
    });
  }

  private letGo: (() => void) | undefined;

  /** Tells the other windows of this phone whether a form is open in this one. */
  formOpen(open: boolean): void {
    if (open === (this.letGo !== undefined) || !navigator.locks) return;
    if (!open) {
      this.letGo?.();
      this.letGo = undefined;
      return;
    }
    const held = new Promise<void>((done) => (this.letGo = done));
    // A lock is let go a moment after its form was closed: what waited for it is told then.
    void navigator.locks.request(openForms, { mode: "shared" }, () => held).then(() => this.changed());
  }
}
