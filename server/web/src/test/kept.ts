// What every Kept has to do, whatever it keeps things in. Memory and Store pass it.
import assert from "node:assert/strict";
import { describe, it } from "node:test";
import { sealedText, type Copy, type Draft, type Heard, type Kept, type Own, type Shot, type Taken } from "../shared/kept.ts";

/** Opened is a store for one test. */
export interface Opened {
  kept: Kept;

  /** Another window on the same store. */
  beside(): Promise<Kept>;

  /** The next call that writes finds the device full. */
  fill(): void;
}

type Open = () => Promise<Opened>;
type Test = (o: Opened) => Promise<void>;

const job = "0195a000-0000-7000-8000-00000000000a";
const otherJob = "0195a000-0000-7000-8000-00000000000b";
const by = "0195a000-0000-7000-8000-00000000000c";
let made = 0;

/** A note that nobody made before. */
export function draft(over: Partial<Draft> = {}): Draft {
  const id = `0195a000-0000-7000-8000-${String(++made).padStart(12, "0")}`;
  return { id, job, kind: "note", v: 1, at: "2026-03-02T10:15:00.000+11:00", seen_seq: 0, by, body: { text: `note ${made}` }, ...over };
}

/** A photo as it comes from the camera. */
export function photo(bytes: number, over: Partial<Taken> = {}): Taken {
  return { type: "photo", media: "image/heic", original: new Uint8Array(bytes).fill(1).buffer, taken_at: "2026-03-02T10:15:00.000+11:00", ...over };
}

/** The copy of a shot that is sent. */
export function copyOf(shot: Shot, bytes: number): Copy {
  return { id: shot.id, media: "image/jpeg", sha256: String(bytes).padStart(64, "0"), data: new Uint8Array(bytes).fill(2).buffer, bytes };
}

/** An own event as the server lists it. */
export function listed(own: Own, seq: number): Heard {
  return { seq, recorded_at: "2026-03-02T00:00:00Z", event: JSON.parse(own.sealed!) };
}

async function recorded(kept: Kept, n: number): Promise<Own[]> {
  const list: Own[] = [];
  for (let i = 0; i < n; i++) list.push(await kept.record(draft(), []));
  return list;
}

/** Records an event with photos of so many bytes each, and seals it. */
async function withShots(kept: Kept, ...sizes: number[]): Promise<{ own: Own; shots: Shot[] }> {
  const raw = await kept.record(draft(), sizes.map((n) => photo(2 * n)));
  const copies = (await kept.shotsOf([raw.counter])).map((s, i) => copyOf(s, sizes[i]!));
  const own = await kept.seal(raw.counter, copies);
  return { own, shots: await kept.shotsOf([raw.counter]) };
}

const counters = (list: { counter: number }[]) => list.map((o) => o.counter);

/** Everything a store says of itself, to tell whether a call changed anything. */
async function all(kept: Kept): Promise<unknown> {
  const own = await kept.unheard(job);
  const shots = await kept.shotsOf(counters(own));
  const bytes = [];
  for (const s of shots) bytes.push(await kept.originalOf(s), await kept.bytesOf(s));
  return { own, shots, bytes, held: await kept.held(), heard: await kept.heard(job, 0, 1000), read: await kept.read("name") };
}

/** Runs the suite. */
export function suite(name: string, open: Open): void {
  describe(name, () => {
    for (const [about, tests] of Object.entries(parts)) {
      describe(about, () => {
        for (const [what, test] of Object.entries(tests)) it(what, async () => test(await open()));
      });
    }
  });
}

const recording: Record<string, Test> = {
  "the device is made once": async ({ kept, beside }) => {
    const id = await kept.device();
    assert.match(id, /^[0-9a-f]{8}-[0-9a-f]{4}-7/);
    assert.equal(await kept.device(), id);
    assert.equal(await (await beside()).device(), id);
    assert.equal((await kept.record(draft(), [])).envelope.device, id);
  },

  "counters start at one, have no gap and go over all jobs": async ({ kept }) => {
    const list = [await kept.record(draft(), []), await kept.record(draft({ job: otherJob }), [photo(5)]), await kept.record(draft(), [])];
    assert.deepEqual(counters(list), [1, 2, 3]);
    assert.deepEqual(list.map((o) => o.envelope.device_seq), [1, 2, 3]);
  },

  "a counter is not used again once its event was let go": async ({ kept }) => {
    const [one] = await recorded(kept, 1);
    await kept.settle(1, { seq: 1 });
    await kept.hear(job, [listed(one!, 1)]);
    assert.deepEqual(await kept.unheard(job), []);
    assert.equal((await kept.record(draft(), [])).counter, 2);
  },

  "two windows never take the same counter": async ({ kept, beside }) => {
    const other = await beside();
    const list = await Promise.all(Array.from({ length: 20 }, (_, i) => (i % 2 ? kept : other).record(draft(), i % 3 ? [] : [photo(3)])));
    assert.deepEqual(counters(list).sort((a, b) => a - b), Array.from({ length: 20 }, (_, i) => i + 1));
    assert.deepEqual(counters(await kept.unsettled()), counters(await other.unsettled()));
  },

  "a full device takes no event, and no counter is lost by it": async ({ kept, fill }) => {
    await recorded(kept, 1);
    const before = await all(kept);
    fill();
    await assert.rejects(kept.record(draft(), [photo(9)]));
    assert.deepEqual(await all(kept), before);
    assert.equal((await kept.record(draft(), [])).counter, 2);
  },

  "what is recorded stays as it was": async ({ kept }) => {
    const d = draft({ body: { text: "as said" } });
    const taken = photo(4);
    const own = await kept.record(d, [taken]);
    (d.body as { text: string }).text = (own.envelope.body as { text: string }).text = "changed afterwards";
    new Uint8Array(taken.original).fill(99);
    const [found] = await kept.unsettled();
    assert.deepEqual(found!.envelope.body, { text: "as said" });
    const [shot] = await kept.shotsOf([1]);
    assert.deepEqual(new Uint8Array((await kept.originalOf(shot!))!), new Uint8Array(4).fill(1));
  },
};

const sealing: Record<string, Test> = {
  "names no file whose bytes are lost": async ({ kept }) => {
    await kept.record(draft(), [photo(3), photo(4)]);
    const [first, second] = await kept.shotsOf([1]);
    const own = await kept.seal(1, [{ ...copyOf(first!, 0), data: undefined, lost: "gone" }, copyOf(second!, 2)]);
    assert.deepEqual((JSON.parse(own.sealed!) as { files: { bytes: number }[] }).files.map((f) => f.bytes), [2]);
    const [lost] = await kept.shotsOf([1]);
    assert.deepEqual([lost!.state, lost!.reason], ["refused", "gone"]);
    assert.equal((await kept.held()).refused, 1);
  },

  "an event without photos is sealed at once, in the order of the envelope": async ({ kept }) => {
    const d = draft({ offset_ms: -3, clock_session: "s1" });
    const own = await kept.record(d, []);
    assert.equal(own.sealed, JSON.stringify({ id: d.id, job: d.job, kind: "note", v: 1, at: d.at, offset_ms: -3, clock_session: "s1",
      device: await kept.device(), device_seq: 1, seen_seq: 0, by, body: d.body }));
    assert.deepEqual(await kept.unsealed(), []);
  },

  "an event with photos is sealed with their digests, in their places": async ({ kept }) => {
    const raw = await kept.record(draft(), [photo(9, { subject: "B1-2", stage: "before" }), photo(8)]);
    assert.equal(raw.sealed, undefined);
    assert.deepEqual(counters(await kept.unsealed()), [1]);
    const [a, b] = await kept.shotsOf([1]);
    const own = await kept.seal(1, [copyOf(b!, 2), copyOf(a!, 3)]);
    assert.equal(own.sealed, sealedText(raw.envelope, [
      { type: "photo", sha256: "3".padStart(64, "0"), bytes: 3, media_type: "image/jpeg", subject: "B1-2", stage: "before", taken_at: a!.taken_at },
      { type: "photo", sha256: "2".padStart(64, "0"), bytes: 2, media_type: "image/jpeg", taken_at: b!.taken_at },
    ]));
    assert.deepEqual(await kept.unsealed(), []);
  },

  "it is sealed once": async ({ kept, beside }) => {
    const { own, shots } = await withShots(kept, 7);
    const again = await (await beside()).seal(own.counter, [copyOf(shots[0]!, 6)]);
    assert.equal(again.sealed, own.sealed);
    assert.deepEqual(await kept.shotsOf([own.counter]), shots);
    assert.equal((await kept.bytesOf(shots[0]!))!.byteLength, 7);
  },

  "two windows that seal at once seal alike": async ({ kept, beside }) => {
    const other = await beside();
    await kept.record(draft(), [photo(9)]);
    const [shot] = await kept.shotsOf([1]);
    const [a, b] = await Promise.all([kept.seal(1, [copyOf(shot!, 4)]), other.seal(1, [copyOf(shot!, 5)])]);
    const [ready] = await kept.shotsOf([1]);
    assert.equal(a.sealed, b.sealed);
    assert.ok(a.sealed!.includes(ready!.sha256!));
    assert.equal((await kept.bytesOf(ready!))!.byteLength, ready!.bytes);
  },

  "a missing copy seals nothing": async ({ kept }) => {
    await kept.record(draft(), [photo(9), photo(9)]);
    const [first] = await kept.shotsOf([1]);
    const before = await all(kept);
    await assert.rejects(kept.seal(1, [copyOf(first!, 3)]));
    assert.deepEqual(await all(kept), before);
  },

  "a full device seals nothing": async ({ kept, fill }) => {
    await kept.record(draft(), [photo(9)]);
    const copies = (await kept.shotsOf([1])).map((s) => copyOf(s, 3));
    const before = await all(kept);
    fill();
    await assert.rejects(kept.seal(1, copies));
    assert.deepEqual(await all(kept), before);
    assert.ok((await kept.seal(1, copies)).sealed);
  },
};

const sending: Record<string, Test> = {
  "the first that wait go in order, up to the first that is not sealed": async ({ kept }) => {
    await recorded(kept, 3);
    await kept.record(draft(), [photo(1)]);
    await recorded(kept, 2);
    assert.deepEqual(counters(await kept.toSend(10)), [1, 2, 3]);
    assert.deepEqual(counters(await kept.toSend(2)), [1, 2]);
    await kept.seal(4, (await kept.shotsOf([4])).map((s) => copyOf(s, 1)));
    assert.deepEqual(counters(await kept.toSend(10)), [1, 2, 3, 4, 5, 6]);
  },

  "what is stored or kept apart does not wait, until it is sent again": async ({ kept }) => {
    await recorded(kept, 3);
    await kept.settle(1, { seq: 7 });
    await kept.settle(2, { reason: "no such kind" });
    assert.deepEqual(counters(await kept.toSend(10)), [3]);
    assert.deepEqual((await kept.unsettled()).map((o) => [o.counter, o.state, o.reason]), [[2, "apart", "no such kind"], [3, "waiting", undefined]]);
    await kept.again(2);
    assert.deepEqual((await kept.toSend(10)).map((o) => [o.counter, o.reason]), [[2, undefined], [3, undefined]]);
  },

  "what is stored stays so": async ({ kept }) => {
    await recorded(kept, 1);
    await kept.settle(1, { seq: 7 });
    await kept.settle(1, { reason: "late" });
    await kept.again(1);
    const [own] = await kept.unheard(job);
    assert.deepEqual([own!.state, own!.seq, own!.reason], ["stored", 7, undefined]);
  },

  "a full device settles nothing": async ({ kept, fill }) => {
    await recorded(kept, 1);
    const before = await all(kept);
    fill();
    await assert.rejects(kept.settle(1, { seq: 1 }));
    assert.deepEqual(await all(kept), before);
  },

  "an unknown counter is an error": async ({ kept }) => {
    await assert.rejects(kept.settle(1, { seq: 1 }));
    await assert.rejects(kept.seal(1, []));
    await assert.rejects(kept.again(1));
  },

  "what is held is counted": async ({ kept }) => {
    assert.deepEqual(await kept.held(), { records: 0, apart: 0, shots: 0, refused: 0 });
    await kept.record(draft({ at: "2026-03-02T11:00:00.000+11:00" }), []);
    await kept.record(draft({ at: "2026-03-02T10:30:00.000+12:00" }), []); // earlier, in another zone
    const { own, shots } = await withShots(kept, 3, 4);
    await kept.settle(1, { reason: "odd" });
    await kept.settle(own.counter, { seq: 1 });
    await kept.settleShot(shots[0]!.id, "safe");
    await kept.settleShot(shots[1]!.id, { reason: "no photo" });
    assert.deepEqual(await kept.held(), { records: 2, apart: 1, shots: 1, refused: 1, oldest: "2026-03-02T10:30:00.000+12:00" });
  },
};

const shooting: Record<string, Test> = {
  "a photo waits for its event, the smallest goes first": async ({ kept }) => {
    const big = await withShots(kept, 50), small = await withShots(kept, 20, 10);
    assert.deepEqual(await kept.shotsToSend(), []);
    await kept.settle(big.own.counter, { seq: 1 });
    assert.deepEqual((await kept.shotsToSend()).map((s) => s.bytes), [50]);
    await kept.settle(small.own.counter, { seq: 2 });
    assert.deepEqual((await kept.shotsToSend()).map((s) => s.bytes), [10, 20, 50]);
  },

  "the bytes are freed when it is safe, and not before": async ({ kept }) => {
    const { own, shots: [shot] } = await withShots(kept, 5);
    await kept.settle(own.counter, { seq: 1 });
    assert.equal((await kept.bytesOf(shot!))!.byteLength, 5);
    assert.equal((await kept.originalOf(shot!))!.byteLength, 10);
    await kept.settleShot(shot!.id, "sent");
    assert.deepEqual((await kept.shotsToSend()).map((s) => s.state), ["sent"]);
    assert.equal((await kept.bytesOf(shot!))!.byteLength, 5);
    assert.equal((await kept.originalOf(shot!))!.byteLength, 10);
    await kept.settleShot(shot!.id, "safe");
    assert.deepEqual(await kept.shotsToSend(), []);
    assert.equal(await kept.bytesOf(shot!), undefined);
    assert.equal(await kept.originalOf(shot!), undefined);
  },

  "one that is sent as it was taken keeps its bytes": async ({ kept }) => {
    await kept.record(draft(), [photo(6)]);
    const [shot] = await kept.shotsOf([1]);
    await kept.seal(1, [{ id: shot!.id, media: "image/heic", sha256: "0".repeat(64), data: undefined, bytes: 6 }]);
    assert.equal((await kept.bytesOf(shot!))!.byteLength, 6);
  },

  "one the server refuses is not sent, and its bytes stay": async ({ kept }) => {
    const { own, shots: [shot] } = await withShots(kept, 5);
    await kept.settle(own.counter, { seq: 1 });
    await kept.settleShot(shot!.id, { reason: "no photo" });
    assert.deepEqual(await kept.shotsToSend(), []);
    assert.equal((await kept.shotsOf([1]))[0]!.reason, "no photo");
    assert.equal((await kept.bytesOf(shot!))!.byteLength, 5);
  },

  "one that is safe stays so": async ({ kept }) => {
    const { shots: [shot] } = await withShots(kept, 5);
    await kept.settleShot(shot!.id, "safe");
    await kept.settleShot(shot!.id, "sent");
    await kept.settleShot(shot!.id, { reason: "late" });
    assert.deepEqual((await kept.shotsOf([1])).map((s) => [s.state, s.reason]), [["safe", undefined]]);
  },

  "a full device frees nothing": async ({ kept, fill }) => {
    const { shots: [shot] } = await withShots(kept, 5);
    fill();
    await assert.rejects(kept.settleShot(shot!.id, "safe"));
    assert.equal((await kept.bytesOf(shot!))!.byteLength, 5);
    assert.equal((await kept.shotsOf([1]))[0]!.state, "ready");
  },

  "one that was let go is nobody's fault": async ({ kept }) => {
    await kept.settleShot("0195a000-0000-7000-8000-ffffffffffff", "safe");
  },
};

const hearing: Record<string, Test> = {
  "what is heard is kept by number, whatever its order, and once": async ({ kept }) => {
    const [a, b, c] = [1, 2, 3].map((seq) => ({ seq, recorded_at: "2026-03-02T00:00:00Z", line: { id: draft().id, kind: "note" }, erased: true }));
    await kept.hear(job, [c!, a!]);
    assert.equal(await kept.applied(job), 1);
    await kept.hear(job, [b!, a!]);
    assert.equal(await kept.applied(job), 3);
    assert.deepEqual(await kept.heard(job, 0, 10), [a, b, c]);
    assert.deepEqual(await kept.heard(job, 1, 1), [b]);
    assert.deepEqual(await kept.heard(otherJob, 0, 10), []);
    assert.equal(await kept.applied(otherJob), 0);
  },

  "own events are let go when they are stored, listed and safe with their photos": async ({ kept }) => {
    const [a, b] = await recorded(kept, 2);
    await kept.settle(1, { seq: 1 });
    await kept.settle(2, { seq: 2 });
    await kept.hear(job, [listed(a!, 1)]);
    assert.deepEqual(counters(await kept.unheard(job)), [2]);
    await kept.hear(job, [listed(b!, 2)]);
    assert.deepEqual(await kept.held(), { records: 0, apart: 0, shots: 0, refused: 0 });
    await assert.rejects(kept.again(1), "it is still there");
  },

  "an event whose photo becomes safe after it was listed is let go then": async ({ kept }) => {
    const { own, shots } = await withShots(kept, 5, 6);
    await kept.settle(1, { seq: 1 });
    await kept.hear(job, [listed(own, 1)]);
    assert.deepEqual(await kept.unheard(job), []);
    await kept.settleShot(shots[0]!.id, "safe");
    assert.deepEqual((await kept.shotsToSend()).map((s) => s.bytes), [6]);
    await kept.settleShot(shots[1]!.id, "safe");
    assert.deepEqual(await kept.shotsOf([1]), []);
    await assert.rejects(kept.again(1), "it is still there");
  },

  "an event that is listed before its answer came is let go with the answer": async ({ kept }) => {
    const [own] = await recorded(kept, 1);
    await kept.hear(job, [listed(own!, 1)]);
    assert.deepEqual(counters(await kept.toSend(10)), [1]);
    await kept.settle(1, { seq: 1 });
    assert.deepEqual(await kept.toSend(10), []);
    await assert.rejects(kept.again(1), "it is still there");
  },

  "an event kept apart stays, although another of its id is listed": async ({ kept }) => {
    const [own] = await recorded(kept, 1);
    await kept.settle(1, { reason: "another event with this id is number 1 of the job" });
    await kept.hear(job, [{ ...listed(own!, 1), event: { ...own!.envelope, body: { text: "somebody else's" } } }]);
    assert.deepEqual(counters(await kept.unsettled()), [1]);
    assert.equal((await kept.held()).apart, 1);
  },

  "of two events with one id the one that was stored is let go": async ({ kept }) => {
    const own = await kept.record(draft(), []);
    await kept.record(draft({ id: own.id }), []);
    await kept.settle(1, { reason: "another event with this id is number 1 of the job" });
    await kept.settle(2, { seq: 1 });
    await kept.hear(job, [listed(own, 1)]);
    assert.deepEqual(counters(await kept.unsettled()), [1]);
    await assert.rejects(kept.again(2), "it is still there");
  },

  "a full device hears nothing": async ({ kept, fill }) => {
    const [own] = await recorded(kept, 1);
    await kept.settle(1, { seq: 1 });
    const before = await all(kept);
    fill();
    await assert.rejects(kept.hear(job, [listed(own!, 1)]));
    assert.deepEqual(await all(kept), before);
  },

  "two windows hear alike": async ({ kept, beside }) => {
    const other = await beside();
    const [own] = await recorded(kept, 1);
    await kept.settle(1, { seq: 1 });
    await Promise.all([kept.hear(job, [listed(own!, 1)]), other.hear(job, [listed(own!, 1)])]);
    assert.deepEqual(await other.heard(job, 0, 10), await kept.heard(job, 0, 10));
    assert.deepEqual(await other.unsettled(), []);
  },
};

const settings: Record<string, Test> = {
  "what is written is read, in every window": async ({ kept, beside }) => {
    assert.equal(await kept.read("name"), undefined);
    const value = { words: ["a"] };
    await kept.write("name", value);
    value.words.push("b");
    assert.deepEqual(await (await beside()).read("name"), { words: ["a"] });
  },

  "a full device keeps what was written before": async ({ kept, fill }) => {
    await kept.write("name", 1);
    fill();
    await assert.rejects(kept.write("name", 2));
    assert.equal(await kept.read("name"), 1);
  },
};

const parts = { recording, sealing, sending, shooting, hearing, settings };
