// What the page asks of the server.
import type { Plan } from "./plan.ts";

/** What one who draws starts from: planNow of the server. */
export interface Now {
  job: string;
  base: string;
  seq: number;
  plan: Plan;
  records: Record<string, number>;
  found: string[];
  none: string[]; // of which somebody below says that nothing stands there
  earlier: Change[];
  since: Change[]; // the latest changes of any sort
  form: string;
  people: { id: string; name: string }[];
  recorder: string;
  words: Record<string, string>;
  feet: boolean;
  jobs: { id: string; name: string; supports: number }[];
}

/** Something that changed the drawing. */
export interface Change { seq: number; kind: string; what: string; when: string; by?: string }

export interface Advice { field?: string; words: string; wrong?: boolean }

export interface Sent { form: string; recorder: string; seen: number; plan: Plan; gone: string[] }

export type Answer =
  | { is: "taken"; saved: string; warned?: string; between?: Change[]; now: Now }
  | { is: "held"; between: Change[]; now: Now }
  | { is: "wrong"; field: string; cure: string }
  | { is: "away"; why: string };

/** The detail of a problem begins with its field, which the page says in its own way. */
function wrong(field: string, detail: string): Answer {
  return { is: "wrong", field, cure: detail.startsWith(`${field}: `) ? detail.slice(field.length + 2) : detail };
}

export class Wire {
  constructor(private base: string) {}

  async record(sent: Sent): Promise<Answer> {
    const answer = await this.post("/plan", sent);
    if (!answer) return { is: "away", why: "The server cannot be reached. Nothing is lost: it stays on this page. Try again." };
    const said = (await answer.json().catch(() => ({}))) as Record<string, unknown>;
    switch (answer.status) {
      case 201: return { is: "taken", ...(said as { saved: string; now: Now }) };
      case 409: return { is: "held", ...(said as unknown as { between: Change[]; now: Now }) };
      case 422: return wrong(String(said["field"] ?? ""), String(said["detail"] ?? ""));
      default: return { is: "away", why: `${String(said["detail"] ?? answer.statusText)} Nothing is lost: it stays on this page.` };
    }
  }

  /** What is wrong or missing, or undefined while the server cannot be reached. */
  async check(plan: Plan): Promise<Advice[] | undefined> {
    const answer = await this.post("/plan/check", plan);
    return answer?.ok ? ((await answer.json()) as { advice: Advice[] }).advice : undefined;
  }

  now(): Promise<Now | undefined> {
    return this.get<Now>("/plan/now");
  }

  earlier(seq: number): Promise<Plan | undefined> {
    return this.get<Plan>(`/plan/earlier/${seq}`);
  }

  of(job: string): Promise<Plan | undefined> {
    return this.get<Plan>(`/plan/of/${job}`);
  }

  /** Keeps a picture and returns its digest, or says why not. */
  async picture(bytes: Blob): Promise<{ sha256: string } | { why: string }> {
    const data = await bytes.arrayBuffer();
    const sum = new Uint8Array(await crypto.subtle.digest("SHA-256", data));
    const sha256 = [...sum].map((b) => b.toString(16).padStart(2, "0")).join("");
    const answer = await fetch(`/api/v1/photos/${sha256}`, { method: "PUT", body: data, headers: { "Content-Type": bytes.type, Accept: "application/json" } }).catch(() => undefined);
    if (!answer) return { why: "The server cannot be reached: try again." };
    if (!answer.ok) return { why: ((await answer.json().catch(() => ({}))) as { detail?: string }).detail ?? answer.statusText };
    return { sha256 };
  }

  private async get<T>(path: string): Promise<T | undefined> {
    const answer = await fetch(this.base + path, { headers: { Accept: "application/json" } }).catch(() => undefined);
    return answer?.ok ? ((await answer.json()) as T) : undefined;
  }

  private post(path: string, body: unknown): Promise<Response | undefined> {
    return fetch(this.base + path, { method: "POST", headers: { "Content-Type": "application/json", Accept: "application/json" }, body: JSON.stringify(body) }).catch(() => undefined);
  }
}
