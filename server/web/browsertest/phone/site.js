// The server under test, as the office has it: what the checks put there and look
// up again.
import assert from "node:assert/strict";
import { createHash, randomUUID } from "node:crypto";

export class Site {
  constructor(given) {
    Object.assign(this, given); // url, token, person, chromium, shots
  }

  async api(method, address, body) {
    const response = await fetch(`${this.url}/api/v1${address}`, {
      method, headers: { Authorization: `Bearer ${this.token}`, "Content-Type": "application/json" }, ...(body === undefined ? {} : { body: JSON.stringify(body) }),
    });
    const text = await response.text();
    assert.ok(response.ok, `${method} ${address}: ${response.status} ${text}`);
    return text ? JSON.parse(text) : undefined;
  }

  async pairingCode() {
    return (await this.api("POST", "/pairings")).code;
  }

  /** A job with a plan of bearers of so many supports, an aim and today's safety check. */
  async house({ bearers = 2, supports = 4, aim = {}, rooms = [], checked = true } = {}) {
    const job = randomUUID();
    await this.api("POST", "/jobs", { id: job, name: "A house", zone: "UTC" });
    const office = new Office(this, job);
    await office.record("plan", planOf(bearers, supports, rooms));
    await office.record("aim", { aim: "level", height: { value: 0, unit: "mm" }, face: "bearer", step_mm: 10, neighbour_mm: 10, tolerance: { within_mm: 2 }, agreed_by: "the owner", ...aim });
    if (checked) await office.record("safety-check", { sentences: [{ sentence: "The way out is clear", initials: "OF" }] });
    return { id: job, office };
  }

  async log(job) {
    const all = [];
    for (;;) {
      const page = await this.api("GET", `/jobs/${job}/events?exact=1&limit=500&after=${all.length}`);
      all.push(...page.events);
      if (page.events.length < 500) return all;
    }
  }

  /** The bytes of a photo, which are those of its digest. */
  async photo(sha256) {
    const got = await fetch(`${this.url}/api/v1/photos/${sha256}?size=original`, { headers: { Authorization: `Bearer ${this.token}` } });
    assert.equal(got.status, 200, `photo ${sha256}`);
    const bytes = Buffer.from(await got.arrayBuffer());
    assert.equal(createHash("sha256").update(bytes).digest("hex"), sha256);
    return bytes;
  }

  state(job) {
    return this.api("GET", `/jobs/${job}/state`);
  }
}

/** Somebody at a desk who records, too. */
export class Office {
  device = randomUUID();
  counter = 0;

  constructor(site, job) {
    Object.assign(this, { site, job });
  }

  event(kind, body, more = {}) {
    return { id: randomUUID(), job: this.job, kind, v: 1, at: new Date().toISOString(), device: this.device, device_seq: ++this.counter, seen_seq: 0, by: this.site.personID, body, ...more };
  }

  async record(kind, body, more) {
    const e = this.event(kind, body, more);
    const answer = await this.site.api("POST", `/jobs/${this.job}/events`, { events: [e] });
    assert.equal(answer.results[0].outcome, "stored", JSON.stringify(answer));
    return e.id;
  }
}

function planOf(bearers, along, rooms) {
  const plan = { supports: [], bearers: [], street: "bottom", datums: [{ id: "D1", x: -2, y: 0, height: { value: 0, unit: "mm" }, off_building: true, stands_on: "kerb" }, { id: "D2", x: 0, y: -1, stands_on: "brick pier" }] };
  for (let b = 1; b <= bearers; b++) {
    const names = Array.from({ length: along }, (_, i) => `B${b}-${i + 1}`);
    names.forEach((id, i) => plan.supports.push({ id, x: i * 1.8, y: (b - 1) * 1.8, sort: "stump", of: "timber" }));
    plan.bearers.push({ id: `B${b}`, supports: names });
  }
  const [w, h] = [(along - 1) * 1.8, bearers * 1.8];
  if (rooms.length > 0) plan.rooms = rooms.map((name, i) => ({ name, outline: [[(i * w) / rooms.length, -1], [((i + 1) * w) / rooms.length, -1], [((i + 1) * w) / rooms.length, h], [(i * w) / rooms.length, h]] }));
  return plan;
}
