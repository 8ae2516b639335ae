// The wire over HTTP. Only an answer that is certainly the server's counts as its
// word: a hotel's sign-in page or a proxy's error is as good as no signal.
import type { ID } from "./event.ts";
import type { Heard } from "./kept.ts";
import { WireError, type Result, type Trouble, type Wire } from "./wire.ts";

export interface Http {
  /** Where the server is; "" is where the page came from. */
  base: string;
  token(): Promise<string | undefined>;
  fetch: typeof fetch;
  now(): number;
  /** Ends a call that takes longer: AbortSignal.timeout, unless time is made up. */
  timeout?(ms: number): AbortSignal;
  /** The server's clock, as an answer carried it. */
  heardTime?(serverMS: number, sentMS: number, receivedMS: number): void;
}

const timeouts = { call: 20_000, shot: 180_000 };

type Safety = "received" | "stored" | "durable";
const safeties: unknown[] = ["received", "stored", "durable"] satisfies Safety[];

export class HttpWire implements Wire {
  constructor(private http: Http) {}

  async append(job: ID, texts: string[]): Promise<Result[]> {
    // The texts go as they are: their bytes are what was sealed.
    const body = `{"events":[${texts.join(",")}]}`;
    const answer = await this.json<{ results: Result[] }>("POST", `/jobs/${job}/events`, { body, type: "application/json" });
    if (!Array.isArray(answer.results) || answer.results.length !== texts.length) throw notOurs();
    return answer.results;
  }

  async pull(job: ID, after: number, limit: number): Promise<{ events: Heard[]; seq: number }> {
    const answer = await this.json<{ events: Heard[]; seq: number }>("GET", `/jobs/${job}/events?after=${after}&limit=${limit}`);
    if (!Array.isArray(answer.events)) throw notOurs();
    return answer;
  }

  async put(sha256: string, media: string, type: "photo" | "sound", data: ArrayBuffer): Promise<Safety> {
    const address = `/photos/${sha256}${type === "sound" ? "?type=sound" : ""}`;
    return safetyIn(await this.json("PUT", address, { body: data, type: media }, timeouts.shot));
  }

  async kept(sha256: string): Promise<Safety | undefined> {
    try {
      return safetyIn(await this.json("GET", `/photos/${sha256}/state`));
    } catch (e) {
      if (e instanceof WireError && e.trouble === "refused") return undefined;
      throw e;
    }
  }

  checkpoint(job: ID): Promise<string | undefined> {
    return this.text(`/jobs/${job}/checkpoint`);
  }

  joint(job: ID, from: number, to: number): Promise<string | undefined> {
    return this.text(`/jobs/${job}/proof/consistency?from=${from}&to=${to}`);
  }

  /** A plain text; undefined where the server has none. */
  private async text(address: string): Promise<string | undefined> {
    let response: Response;
    try {
      response = await this.call("GET", address, undefined, timeouts.call);
    } catch (e) {
      if (e instanceof WireError && e.trouble === "refused") return undefined;
      throw e;
    }
    if (!isOf(response, "text/plain")) throw notOurs();
    return response.text().catch(() => {
      throw unreachable();
    });
  }

  /** Any other call of the API, all of which answer with an object. */
  async json<T>(method: string, address: string, send?: { body: BodyInit; type: string }, timeout = timeouts.call): Promise<T> {
    const response = await this.call(method, address, send, timeout);
    return (await read(response)) as T;
  }

  /** The bytes at an address, for pictures of others. */
  async bytes(address: string): Promise<Blob> {
    const response = await this.call("GET", address, undefined, timeouts.call);
    return response.blob().catch(() => {
      throw unreachable();
    });
  }

  private async call(method: string, address: string, send: { body: BodyInit; type: string } | undefined, timeout: number): Promise<Response> {
    const headers: Record<string, string> = {};
    const token = await this.http.token();
    if (token) headers["Authorization"] = `Bearer ${token}`;
    if (send) headers["Content-Type"] = send.type;
    const sent = this.http.now();
    let response: Response;
    try {
      response = await this.http.fetch(`${this.http.base}/api/v1${address}`, {
        method, headers, body: send?.body ?? null, signal: this.timeout(timeout), cache: "no-store", credentials: "omit",
      });
    } catch {
      throw unreachable();
    }
    this.learnTime(response, sent);
    if (!response.ok) throw await troubleOf(response);
    return response;
  }

  private timeout(ms: number): AbortSignal {
    return this.http.timeout ? this.http.timeout(ms) : AbortSignal.timeout(ms);
  }

  private learnTime(response: Response, sent: number): void {
    const server = Date.parse(response.headers.get("Relevel-Time") ?? "");
    if (!Number.isNaN(server)) this.http.heardTime?.(server, sent, this.http.now());
  }
}

const unreachable = () => new WireError("unreachable", "The office does not answer.");
const notOurs = () => new WireError("unreachable", "Something else answers in place of the office: is there a sign-in page on this network?");

async function read(response: Response): Promise<object> {
  if (response.status === 204) return {}; // it has nothing to say
  if (!isOf(response, "application/json")) throw notOurs();
  const answer: unknown = await response.json().catch(() => {
    throw unreachable(); // it broke off
  });
  if (typeof answer !== "object" || answer === null) throw notOurs();
  return answer;
}

function safetyIn(answer: { state?: unknown }): Safety {
  if (!safeties.includes(answer.state)) throw notOurs();
  return answer.state as Safety;
}

function isOf(response: Response, media: string): boolean {
  return (response.headers.get("Content-Type") ?? "").split(";")[0]?.trim() === media;
}

/** What an answer that is no success means. */
async function troubleOf(response: Response): Promise<WireError> {
  if (!isOf(response, "application/problem+json")) return notOurs();
  const problem = (await response.json().catch(() => null)) as { detail?: string; title?: string } | null;
  const trouble = troubleOfStatus(response.status);
  return new WireError(trouble, problem?.detail ?? problem?.title ?? `The answer was ${response.status}.`, waitOf(response));
}

function troubleOfStatus(status: number): Trouble {
  if (status === 401) return "unpaired";
  if (status >= 500 || status === 408 || status === 425 || status === 429) return "busy";
  return "refused";
}

function waitOf(response: Response): number {
  const seconds = Number(response.headers.get("Retry-After"));
  return Number.isFinite(seconds) ? Math.min(Math.max(seconds, 0), 300) * 1000 : 0;
}
