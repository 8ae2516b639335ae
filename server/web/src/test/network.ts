// The way between phones and the real server: slow, and it loses, repeats, cuts and
// keeps back what it is given.
import { Agent, request, type IncomingMessage } from "node:http";
import type { Random } from "./random.ts";
import type { Scheduler } from "./scheduler.ts";

/** What becomes of one request and its answer. */
type Fate =
  | "well"
  | "no way" // fails at once
  | "lost" // the request never arrives, and nobody says so
  | "late" // it arrives when nobody waits for it any more
  | "twice" // it arrives once more, later
  | "half" // the connection breaks while the request is sent
  | "busy" // something before the server says 503
  | "answer lost" // the server did it; the connection breaks
  | "answer never" // the server did it; silence
  | "answer cut" // the server did it; its answer breaks off
  | "proxy" // the server did it; a proxy says 502
  | "sign-in"; // a page in place of the server

const troubles: Fate[] = ["no way", "lost", "late", "twice", "half", "busy", "answer lost", "answer never", "answer cut", "proxy", "sign-in"];

interface Reply {
  status: number;
  media: string;
  body: Buffer<ArrayBuffer>;
}

interface Asked {
  url: string;
  init: RequestInit;
}

/** What the network saw arrive at the server, whether its answer came back or not. */
export interface Witness {
  executed(method: string, url: string, sent: unknown, status: number, answer: string): void;
}

export class Network {
  healed = false;
  underway = 0; // requests that arrive later

  constructor(private time: Scheduler, private random: Random, private badness: number, private witness: Witness) {}

  /** Sends a request of a phone, as fetch does. */
  async fetch(offline: boolean, url: string, init: RequestInit): Promise<Response> {
    const asked = { url, init }, signal = init.signal ?? undefined;
    const fate = this.fate(offline);
    await this.pass(this.random.int(5, 900), signal);
    if (fate === "no way") throw new TypeError("no way there");
    if (fate === "busy") return problem(503, this.random.chance(0.3) ? "7" : undefined);
    if (fate === "sign-in") return new Response("<title>Welcome</title>", { status: 200, headers: { "Content-Type": "text/html" } });
    if (fate === "late") this.later(asked, this.random.int(1000, 240_000));
    if (fate === "lost" || fate === "late") return this.silence(signal);
    if (fate === "half") return this.half(asked);
    const reply = await this.deliver(asked);
    const received = this.time.now;
    if (fate === "twice") this.later(asked, this.random.int(1, 120_000));
    await this.pass(this.random.int(5, 900), signal);
    return this.back(fate, reply, received, signal);
  }

  private fate(offline: boolean): Fate {
    if (this.healed) return "well";
    if (offline) return this.random.pick(["no way", "lost"]);
    return this.random.chance(this.badness) ? this.random.pick(troubles) : "well";
  }

  private async back(fate: Fate, reply: Reply, received: number, signal: AbortSignal | undefined): Promise<Response> {
    const headers = { "Content-Type": reply.media, "Relevel-Time": new Date(received).toISOString() };
    switch (fate) {
      case "answer lost":
        throw new TypeError("the connection broke");
      case "answer never":
        return this.silence(signal);
      case "answer cut":
        return new Response(broken(reply.body.subarray(0, reply.body.length / 2)), { status: reply.status, headers });
      case "proxy":
        return new Response("Bad gateway", { status: 502, headers: { "Content-Type": "text/html" } });
      default:
        return new Response(reply.body, { status: reply.status, headers });
    }
  }

  private async pass(ms: number, signal: AbortSignal | undefined): Promise<void> {
    await this.time.sleep(ms, signal);
    if (signal?.aborted) throw new DOMException("it took too long", "TimeoutError");
  }

  private async silence(signal: AbortSignal | undefined): Promise<never> {
    await this.pass(86_400_000, signal);
    throw new Error("a request without an end");
  }

  private later(asked: Asked, ms: number): void {
    this.underway++;
    this.time.at(this.time.now + ms, () => void this.deliver(asked).finally(() => this.underway--));
  }

  /** The server gets a part of the body, and nobody gets its answer. */
  private async half({ url, init }: Asked): Promise<never> {
    const body = bytesOf(init);
    await this.time.outside(new Promise<void>((done) => {
      const headers = { ...(init.headers as Record<string, string>), "Content-Length": body.length + 1 };
      const half = request(url, { method: init.method ?? "GET", headers });
      half.on("error", () => {}).on("close", done);
      half.write(body.subarray(0, body.length / 2), () => half.destroy());
    }));
    throw new TypeError("the connection broke");
  }

  /** Asks the real server. */
  private async deliver({ url, init }: Asked): Promise<Reply> {
    const reply = await this.time.outside(ask(url, init));
    this.witness.executed(init.method ?? "GET", url, init.body, reply.status, reply.body.toString());
    return reply;
  }
}

const agent = new Agent({ keepAlive: true });

/** Asks by node's own client, which takes half the time of its fetch. */
async function ask(url: string, init: RequestInit): Promise<Reply> {
  const response = await new Promise<IncomingMessage>((done, fail) => {
    const body = bytesOf(init);
    const headers = { ...(init.headers as Record<string, string>), "Content-Length": body.length };
    request(url, { method: init.method ?? "GET", headers, agent }, done).on("error", fail).end(body);
  });
  const parts: Buffer[] = [];
  for await (const part of response) parts.push(part as Buffer);
  return { status: response.statusCode ?? 0, media: response.headers["content-type"] ?? "", body: Buffer.concat(parts) };
}

function bytesOf(init: RequestInit): Buffer {
  return Buffer.from((init.body ?? "") as string | ArrayBuffer as string);
}

function problem(status: number, wait: string | undefined): Response {
  const headers = { "Content-Type": "application/problem+json", ...(wait ? { "Retry-After": wait } : {}) };
  return new Response(JSON.stringify({ title: "Unavailable", detail: "Later." }), { status, headers });
}

function broken(part: Uint8Array): ReadableStream {
  let sent = false;
  return new ReadableStream({
    pull(to) {
      if (sent) return to.error(new TypeError("the connection broke"));
      sent = true;
      to.enqueue(part);
    },
  });
}
