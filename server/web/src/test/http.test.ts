import assert from "node:assert/strict";
import { createServer, type IncomingMessage, type ServerResponse } from "node:http";
import type { AddressInfo } from "node:net";
import { describe, it } from "node:test";
import { HttpWire } from "../shared/http.ts";
import { WireError, type Trouble } from "../shared/wire.ts";

type Answer = (response: ServerResponse, request: IncomingMessage, body: string) => void;

const job = "0195a000-0000-7000-8000-00000000000a";

/** Asks a server that gives one answer to everything, and waits so long for it. */
async function asking<T>(answer: Answer, ask: (w: HttpWire, heard: number[]) => Promise<T>, patience = 20_000): Promise<T> {
  const server = createServer((request, response) => {
    let body = "";
    request.setEncoding("latin1").on("data", (part: string) => (body += part));
    request.on("end", () => answer(response, request, body));
  });
  await new Promise<void>((done) => server.listen(0, "127.0.0.1", done));
  const heard: number[] = [];
  const wire = new HttpWire({
    base: `http://127.0.0.1:${(server.address() as AddressInfo).port}`, token: async () => "rl_secret", fetch, now: () => 1000,
    heardTime: (...times) => heard.push(...times), timeout: () => AbortSignal.timeout(patience),
  });
  try {
    return await ask(wire, heard);
  } finally {
    server.closeAllConnections();
    server.close();
  }
}

function says(status: number, media: string, body: string, headers: Record<string, string> = {}): Answer {
  return (r) => r.writeHead(status, { "Content-Type": media, ...headers }).end(body);
}

const problem = (status: number, headers?: Record<string, string>) =>
  says(status, "application/problem+json", JSON.stringify({ title: "A title", detail: `It is ${status}.` }), headers);

/** What every call has to say of an answer. */
async function trouble(answer: Answer, want: Trouble, words?: string, waitMS = 0, patience?: number): Promise<void> {
  const calls: [string, (w: HttpWire) => Promise<unknown>][] = [
    ["append", (w) => w.append(job, ["{}"])], ["pull", (w) => w.pull(job, 0, 10)],
    ["put", (w) => w.put("0".repeat(64), "image/jpeg", "photo", new ArrayBuffer(3))], ["kept", (w) => w.kept("0".repeat(64))],
  ];
  for (const [name, call] of calls) {
    if (name === "kept" && want === "refused") continue; // it answers that there is none
    const e = await asking(answer, call, patience).then(() => assert.fail(`${name} did not reject`), (e: unknown) => e);
    assert.ok(e instanceof WireError, `${name} rejected with ${String(e)}`);
    assert.equal(e.trouble, want, name);
    assert.equal(e.waitMS, waitMS, name);
    if (words) assert.equal(e.message, words, name);
  }
}

describe("HttpWire, when all is well", () => {
  it("sends the texts as they were sealed, with the token", async () => {
    const texts = ['{"id":"a","body":{"text":"é \\u00e9"}}', '{ "id" : "b" }'];
    let sent = "", head = "";
    const results = await asking((r, request, body) => {
      sent = Buffer.from(body, "latin1").toString();
      head = `${request.method} ${request.url} ${request.headers.authorization} ${request.headers["content-type"]}`;
      says(200, "application/json", '{"results":[{"id":"a","outcome":"stored","seq":1},{"id":"b","outcome":"quarantined"}]}')(r, request, body);
    }, (w) => w.append(job, texts));
    assert.equal(sent, `{"events":[${texts.join(",")}]}`);
    assert.equal(head, `POST /api/v1/jobs/${job}/events Bearer rl_secret application/json`);
    assert.deepEqual(results.map((r) => r.outcome), ["stored", "quarantined"]);
  });

  it("pulls what comes after a number", async () => {
    let url = "";
    const got = await asking((r, request, body) => {
      url = request.url ?? "";
      says(200, "application/json; charset=utf-8", '{"events":[],"seq":7}')(r, request, body);
    }, (w) => w.pull(job, 5, 200));
    assert.equal(url, `/api/v1/jobs/${job}/events?after=5&limit=200`);
    assert.deepEqual(got, { events: [], seq: 7 });
  });

  it("puts the very bytes under their digest", async () => {
    const data = new Uint8Array([0xff, 0xd8, 0xff, 0, 1]), seen: string[] = [];
    const ask = (type: "photo" | "sound", media: string) => asking((r, request, body) => {
      seen.push(`${request.method} ${request.url} ${request.headers["content-type"]}`);
      assert.deepEqual(Uint8Array.from(body, (c) => c.charCodeAt(0)), data);
      says(200, "application/json", '{"state":"durable"}')(r, request, body);
    }, (w) => w.put("ab", media, type, data.buffer));
    assert.deepEqual([await ask("photo", "image/jpeg"), await ask("sound", "audio/webm")], ["durable", "durable"]);
    assert.deepEqual(seen, ["PUT /api/v1/photos/ab image/jpeg", "PUT /api/v1/photos/ab?type=sound audio/webm"]);
  });

  it("knows a photo that the server has none of", async () => {
    assert.equal(await asking(problem(404), (w) => w.kept("ab")), undefined);
    assert.equal(await asking(says(200, "application/json", '{"state":"stored"}'), (w) => w.kept("ab")), "stored");
  });

  it("hands on the server's time, even with a refusal", async () => {
    const date = { "Relevel-Time": "2026-03-02T00:00:00.250Z" };
    for (const answer of [says(200, "application/json", '{"events":[],"seq":0}', date), problem(422, date)]) {
      const heard = await asking(answer, async (w, heard) => (await w.pull(job, 0, 1).catch(() => {}), heard));
      assert.deepEqual(heard, [Date.parse("2026-03-02T00:00:00.250Z"), 1000, 1000]);
    }
  });
});

describe("HttpWire, when something else answers", () => {
  for (const [what, answer] of Object.entries({
    "a sign-in page": says(200, "text/html", "<title>Welcome</title>"),
    "a sign-in page that calls itself JSON": says(200, "application/json", "<title>Welcome</title>"),
    "JSON of something else": says(200, "application/json", '{"ok":true}'),
    "JSON that is nothing": says(200, "application/json", "null"),
    "nothing at all": (r: ServerResponse) => r.writeHead(204).end(),
    "a proxy's error": says(502, "text/html", "Bad gateway"),
    "a proxy's refusal": says(403, "text/plain", "Blocked"),
    "a proxy's JSON error": says(404, "application/json", '{"error":"no"}'),
    "a redirect into nowhere": (r: ServerResponse) => r.writeHead(302, { Location: "http://127.0.0.1:1/" }).end(),
  })) it(what, () => trouble(answer, "unreachable"));

  it("answers for fewer events than were sent", async () => {
    await assert.rejects(asking(says(200, "application/json", '{"results":[]}'), (w) => w.append(job, ["{}"])), { trouble: "unreachable" });
  });
});

describe("HttpWire, when nothing answers", () => {
  for (const [what, answer] of Object.entries<Answer>({
    "the connection is cut": (r) => r.socket?.destroy(),
    "an answer breaks off": (r) => {
      r.writeHead(200, { "Content-Type": "application/json", "Content-Length": "1000" }).write('{"events":[');
      setTimeout(() => r.socket?.destroy(), 10);
    },
  })) it(what, () => trouble(answer, "unreachable"));

  for (const [what, answer] of Object.entries<Answer>({
    "no answer ever comes": () => {},
    "an answer never ends": (r) => r.writeHead(200, { "Content-Type": "application/json" }).write('{"events":['),
  })) it(what, () => trouble(answer, "unreachable", undefined, 0, 200));

  it("nobody listens", async () => {
    const wire = new HttpWire({ base: "http://127.0.0.1:1", token: async () => undefined, fetch, now: () => 0 });
    await assert.rejects(wire.pull(job, 0, 1), { name: "WireError", trouble: "unreachable" });
  });
});

describe("HttpWire, when the server will not", () => {
  for (const status of [400, 403, 404, 409, 413, 422]) it(`${status}`, () => trouble(problem(status), "refused", `It is ${status}.`));
  for (const status of [408, 425, 429, 500, 503]) it(`${status}`, () => trouble(problem(status), "busy", `It is ${status}.`));
  it("401", () => trouble(problem(401), "unpaired", "It is 401."));

  it("waits as long as it is asked to, within reason", async () => {
    await trouble(problem(503, { "Retry-After": "7" }), "busy", undefined, 7000);
    await trouble(problem(503, { "Retry-After": "99999" }), "busy", undefined, 300_000);
    await trouble(problem(503, { "Retry-After": "-5" }), "busy", undefined, 0);
    await trouble(problem(503, { "Retry-After": "Mon, 02 Mar 2026 00:00:00 GMT" }), "busy", undefined, 0);
  });

  it("says something where the problem has no words", async () => {
    for (const body of ["{}", "null", '{"detail"', "[]"]) {
      await trouble(says(503, "application/problem+json", body), "busy", "The answer was 503.");
    }
  });
});
