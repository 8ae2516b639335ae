// The real server, as the simulation knows it beside the phones: it makes firms and
// jobs there, and looks at what came of it.
import type { ID } from "../shared/event.ts";
import type { Heard } from "../shared/kept.ts";

export interface Exact extends Heard {
  bytes: string; // base64
}

export class Backend {
  private firm = "";
  private token = "";

  constructor(readonly url: string) {}

  /** Makes a firm of its own for one seed; answers what opens it. */
  async newFirm(): Promise<string> {
    const made = await this.ask<{ firm: string; token: string }>("POST", "/simulation/firms");
    this.firm = made.firm;
    return (this.token = made.token);
  }

  async newJob(id: ID): Promise<void> {
    await this.ask("POST", "/api/v1/jobs", { id, name: "14 Wattle Street", zone: "Australia/Sydney" });
  }

  /** Reads the photos back that are stored, which makes them durable. */
  async verifyPhotos(): Promise<void> {
    await this.ask("POST", `/simulation/firms/${this.firm}/verify`);
  }

  /** The store loses what it had not written down for good. */
  async losePhotos(): Promise<void> {
    await this.ask("POST", `/simulation/firms/${this.firm}/lose`);
  }

  /** The photos whose bytes are in the store, under the digest that they have. */
  async photos(): Promise<Set<string>> {
    return new Set(await this.ask<string[]>("GET", `/simulation/firms/${this.firm}/photos`));
  }

  async log(job: ID): Promise<Exact[]> {
    const all: Exact[] = [];
    for (;;) {
      const { events } = await this.ask<{ events: Exact[] }>("GET", `/api/v1/jobs/${job}/events?exact=1&limit=1000&after=${all.length}`);
      if (events.length === 0) return all;
      all.push(...events);
    }
  }

  /** The exact texts in quarantine. */
  async quarantine(): Promise<string[]> {
    const { quarantine } = await this.ask<{ quarantine: { bytes: string }[] }>("GET", "/api/v1/quarantine?limit=500");
    return quarantine.map((q) => textOf(q.bytes));
  }

  state(job: ID, seq: number): Promise<unknown> {
    return this.ask("GET", `/api/v1/jobs/${job}/state?as_of=${seq}`);
  }

  private async ask<T>(method: string, address: string, body?: object): Promise<T> {
    const headers = { Authorization: `Bearer ${this.token}`, "Content-Type": "application/json" };
    const response = await fetch(this.url + address, { method, headers, ...(body ? { body: JSON.stringify(body) } : {}) });
    if (!response.ok) throw new Error(`${method} ${address}: ${response.status} ${await response.text()}`);
    return (await response.json()) as T;
  }
}

export function textOf(base64: string): string {
  return Buffer.from(base64, "base64").toString();
}
