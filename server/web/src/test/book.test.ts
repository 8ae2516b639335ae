import assert from "node:assert/strict";
import { describe, it } from "node:test";
import { Memory } from "../shared/memory.ts";
import type { Shown } from "../shared/length.ts";
import { Book } from "../page/book.ts";
import { Reckoner } from "../page/reckoner.ts";
import { draft, listed } from "./kept.ts";

const job = draft().job;

/** A worker that knows which events it was given, and lets them go when it is told to. */
class Fake {
  static all: Fake[] = [];
  onmessage: (m: { data: object }) => void = () => {};
  onerror: (e: { message: string }) => void = () => {};
  ids = new Set<string>();
  breaks = false; // the next call fails as a reckoning does

  constructor() {
    Fake.all.push(this);
  }

  postMessage(m: { id: number; name: string; request: string }): void {
    const answer = JSON.stringify(this.answer(m.name, JSON.parse(m.request)));
    queueMicrotask(() => this.onmessage({ data: { id: m.id, answer } }));
  }

  private answer(name: string, request: { units?: string; region?: string; events?: { id?: string; event?: { id: string } }[] }): object {
    if (this.breaks) {
      this.breaks = false;
      this.ids.clear();
      return { error: { detail: "it broke" } };
    }
    for (const e of request.events ?? []) this.ids.add(e.event?.id ?? e.id ?? "");
    return name === "state" || name === "floor" ? { knows: this.ids.size, units: request.units, region: request.region } : {};
  }

  terminate(): void {}
}

/** A book of three events that were heard and one of this phone's own. */
async function opened() {
  Fake.all = [];
  const kept = new Memory();
  const others = new Memory();
  const heard = [];
  for (let seq = 1; seq <= 3; seq++) heard.push(listed(await others.record(draft(), []), seq));
  await kept.hear(job, heard);
  await kept.record(draft(), []);
  const speaks: { units: Shown; region: string } = { units: "mm", region: "AU" };
  const open = (worker: () => Fake) => new Book(job, kept, new Reckoner(() => worker() as unknown as Worker), () => ({ zone: "UTC", ...speaks }), () => {});
  const book = open(() => new Fake());
  const restarted = () => open(() => Object.defineProperty(new Fake(), "breaks", { get: () => true, set: () => {} }));
  await book.open();
  return { kept, book, speaks, restarted };
}

const knows = (b: Book) => (b.picture as unknown as { knows: number }).knows;

describe("Book", () => {
  it("gives the worker all that is kept", async () => {
    const { book } = await opened();
    assert.equal(knows(book), 4);
  });

  it("counts what is recorded at once", async () => {
    const { kept, book } = await opened();
    await book.recorded(await kept.record(draft(), []));
    assert.equal(knows(book), 5);
  });

  it("gives a new worker all of it before what was just recorded", async () => {
    const { kept, book } = await opened();
    Fake.all.at(-1)!.onerror({ message: "killed" });
    await book.recorded(await kept.record(draft(), []));
    assert.equal(Fake.all.length, 2);
    assert.equal(knows(book), 5);
  });

  it("draws nothing of a worker that has no book", async () => {
    const { book } = await opened();
    Fake.all.at(-1)!.onerror({ message: "killed" });
    assert.deepEqual(await book.ask("floor"), { knows: 4, units: "mm", region: "AU" });
  });

  it("speaks another unit from when it is told", async () => {
    const { book, speaks } = await opened();
    const { version } = book;
    speaks.units = "ft";
    speaks.region = "US";
    await book.again();
    assert.deepEqual(book.picture as unknown, { knows: 4, units: "ft", region: "US" });
    assert.deepEqual(await book.ask("floor"), { knows: 4, units: "ft", region: "US" });
    assert.ok(book.version > version);
  });

  it("goes on where the reckoning let all books go", async () => {
    const { kept, book } = await opened();
    Fake.all.at(-1)!.breaks = true;
    await book.recorded(await kept.record(draft(), []));
    assert.equal(knows(book), 5);
    assert.equal(book.failed, undefined);
  });

  it("shows a set-up that was just made, closed or voided before the worker has reckoned it", async () => {
    const { kept, book } = await opened();
    const setups = () => book.picture!.setups?.map((s) => `${s.instrument}${s.closed ? " closed" : ""}`) ?? [];
    const recorded = (kind: string, body: object) => kept.record(draft({ kind, body }), []);
    const red = await recorded("setup", { instrument: "red", datums: [] });
    const green = await recorded("setup", { instrument: "green", datums: [] });
    const closed = await recorded("setup-closed", { setup: red.id, datums: [] });
    const voided = await recorded("void", { event: green.id, why: "another laser" });
    const reckoned: Promise<void>[] = [];
    const shown = [red, green, closed, voided].map((own) => {
      reckoned.push(book.recorded(own));
      return setups();
    });
    assert.deepEqual(shown, [["red"], ["green", "red"], ["green", "red closed"], ["red closed"]]);
    await Promise.all(reckoned);
    assert.deepEqual(setups(), [], "what the worker reckoned counts from then on");
  });

  it("shows them where no worker can be had, after a restart too", async () => {
    const { kept, book, restarted } = await opened();
    Object.defineProperty(Fake.all.at(-1)!, "breaks", { get: () => true, set: () => {} });
    await book.recorded(await kept.record(draft({ kind: "setup", body: { instrument: "red", datums: [] } }), [])).catch(() => {});
    assert.deepEqual(book.picture!.setups?.map((s) => s.instrument), ["red"]);
    const again = restarted();
    await again.open().catch(() => {});
    assert.deepEqual(again.picture!.setups?.map((s) => s.instrument), ["red"]);
  });

  it("says what failed where it fails again, and keeps the last picture", async () => {
    const { book } = await opened();
    const fake = Fake.all.at(-1)!;
    Object.defineProperty(fake, "breaks", { get: () => true, set: () => {} });
    await assert.rejects(book.refresh());
    assert.match(book.failed!, /broke/);
    assert.equal(knows(book), 4);
    assert.ok(book.old);
  });
});
