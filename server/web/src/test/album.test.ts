import assert from "node:assert/strict";
import { describe, it } from "node:test";
import { Album } from "../page/album.ts";
import type { Stage } from "../shared/event.ts";
import type { Heard, Own } from "../shared/kept.ts";
import { Memory } from "../shared/memory.ts";
import { copyOf, draft, listed, photo } from "./kept.ts";

const job = draft().job;
const sha = (n: number) => String(n).padStart(64, "0");

/** An album and what it asked the office for; without signal the office is silent. */
function phone() {
  const kept = new Memory();
  const asked: string[] = [];
  const air = { signal: true };
  const album = new Album(kept, async (sha256) => {
    if (!air.signal) throw new Error("no signal");
    asked.push(sha256);
    return new Blob([`picture ${Number(sha256)}`]);
  });
  return { kept, album, asked, air };
}

/** The event of somebody else, with one picture. */
function others(seq: number, subject: string, stage: Stage, n: number): Heard {
  const files = [{ type: "photo" as const, sha256: sha(n), bytes: 9, media_type: "image/jpeg", subject, stage }];
  return { seq, recorded_at: "2026-03-02T00:00:00Z", event: { ...draft(), device: "0195a000-0000-7000-8000-0000000000dd", device_seq: seq, files } };
}

function voiding(seq: number, of: Heard): Heard {
  return { seq, recorded_at: "2026-03-02T00:00:00Z", event: { ...draft({ kind: "void", body: { event: of.event!.id, why: "the wrong room" } }), device: "0195a000-0000-7000-8000-0000000000dd", device_seq: seq } };
}

/** Takes a picture before on this phone, of which so many bytes are sent. */
async function taken(kept: Memory, subject: string, bytes: number): Promise<Own> {
  const own = await kept.record(draft(), [photo(2 * bytes, { subject, stage: "before" })]);
  return kept.seal(own.counter, (await kept.shotsOf([own.counter])).map((s) => copyOf(s, bytes)));
}

const text = async (blob: Blob | undefined) => blob?.text();

describe("Album", () => {
  it("OwnBeforeItIsSealed", async () => {
    const { kept, album } = phone();
    await kept.record(draft(), [photo(7, { subject: "B1-1", stage: "before" })]);
    assert.equal((await album.before(job, "B1-1"))?.size, 7);
  });

  it("OwnThatIsSentAndNotSafe", async () => {
    const { kept, album, air } = phone();
    const own = await taken(kept, "B1-1", 5);
    await kept.settle(own.counter, { seq: 1 });
    await kept.hear(job, [listed(own, 1)]);
    air.signal = false;
    assert.equal((await album.before(job, "B1-1"))?.size, 5);
  });

  it("OwnThatIsSafeIsFetchedBack", async () => {
    const { kept, album, asked, air } = phone();
    const own = await taken(kept, "B1-1", 5);
    await kept.settle(own.counter, { seq: 1 });
    for (const s of await kept.shotsOf([own.counter])) await kept.settleShot(s.id, "safe");
    await kept.hear(job, [listed(own, 1)]);
    await album.fetch(job);
    air.signal = false;
    assert.deepEqual(asked, [sha(5)]);
    assert.equal(await text(await album.before(job, "B1-1")), "picture 5");
  });

  it("TheLatestOfASubject", async () => {
    const { kept, album } = phone();
    await kept.hear(job, [others(1, "kitchen", "before", 1), others(2, "kitchen", "before", 2), others(3, "hall", "before", 3), others(4, "kitchen", "after", 4)]);
    assert.equal(await text(await album.before(job, "kitchen")), "picture 2");
  });

  it("NotOneThatDoesNotCount", async () => {
    const { kept, album } = phone();
    const wrong = others(2, "kitchen", "before", 2);
    await kept.hear(job, [others(1, "kitchen", "before", 1), wrong, voiding(3, wrong)]);
    assert.equal(await text(await album.before(job, "kitchen")), "picture 1");
  });

  it("NotAnOwnOneThatWasUndone", async () => {
    const { kept, album } = phone();
    const own = await taken(kept, "hall", 5);
    await kept.record(draft({ kind: "void", body: { event: own.id, why: "taken back at once" } }), []);
    assert.equal(await album.before(job, "hall"), undefined);
    assert.equal(await album.any(job), false);
  });

  it("NothingWithoutSignalUnlessItWasFetched", async () => {
    const { kept, album, air } = phone();
    await kept.hear(job, [others(1, "kitchen", "before", 1)]);
    air.signal = false;
    assert.equal(await album.before(job, "kitchen"), undefined);
    assert.equal(await album.any(job), true);
    air.signal = true;
    await album.fetch(job);
    air.signal = false;
    assert.equal(await text(await album.before(job, "kitchen")), "picture 1");
  });

  it("FetchedOnce", async () => {
    const { kept, album, asked } = phone();
    await kept.hear(job, [others(1, "kitchen", "before", 1), others(2, "hall", "before", 2)]);
    await album.fetch(job);
    await album.fetch(job);
    await album.before(job, "hall");
    assert.deepEqual(asked, [sha(1), sha(2)]);
  });

  it("ThirtyAtMost", async () => {
    const { kept, album, asked } = phone();
    await kept.hear(job, Array.from({ length: 40 }, (_, i) => others(i + 1, `room ${i + 1}`, "before", i + 1)));
    await album.fetch(job);
    assert.equal(asked.length, 30);
    await album.before(job, "room 1");
    const copies = await Promise.all(Array.from({ length: 40 }, (_, i) => kept.read(`before ${sha(i + 1)}`)));
    assert.equal(copies.filter(Boolean).length, 30);
    assert.ok(copies[0] && !copies[10], "the one that was asked for took the place of the oldest");
  });
});
