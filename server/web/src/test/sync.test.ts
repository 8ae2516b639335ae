import assert from "node:assert/strict";
import { describe, it } from "node:test";
import type { Own } from "../shared/kept.ts";
import { Disk, Memory } from "../shared/memory.ts";
import { Sync, type Around } from "../shared/sync.ts";
import { WireError } from "../shared/wire.ts";
import { copyOf, draft, photo } from "./kept.ts";
import { Office } from "./office.ts";

const job = draft().job, otherJob = "0195a000-0000-7000-8000-00000000000b";

const busy = (waitMS = 0) => new WireError("busy", "Later.", waitMS);
const lost = () => new WireError("unreachable", "No answer.");

/** A phone with its office. Its clock goes by what it sleeps. */
function phone(over: Partial<Around> = {}) {
  const office = new Office(), disk = new Disk(), kept = new Memory(disk);
  const sleeps: number[] = [];
  let now = 0;
  const around: Around = {
    seal: async () => {},
    jobs: async () => [job],
    sleep: async (ms) => void (sleeps.push(ms), (now += ms)),
    random: () => 1,
    alone: async (f) => (await f(), "done"),
    changed: () => {},
    ...over,
  };
  return { office, disk, kept, sleeps, sync: new Sync(kept, office, around, () => now), pass: (ms: number) => (now += ms) };
}

type Phone = ReturnType<typeof phone>;

async function record(p: Phone, n: number): Promise<Own[]> {
  const list = [];
  for (let i = 0; i < n; i++) list.push(await p.kept.record(draft(), []));
  return list;
}

async function recordShot(p: Phone, ...bytes: number[]): Promise<Own> {
  const { counter } = await p.kept.record(draft(), bytes.map((n) => photo(n)));
  return p.kept.seal(counter, (await p.kept.shotsOf([counter])).map((s, i) => copyOf(s, bytes[i]!)));
}

const sha = (bytes: number) => String(bytes).padStart(64, "0");
const appends = (p: Phone) => p.office.calls.filter((c) => c.startsWith("append"));

/** Runs until the phone would wait for nothing in particular, at most so many rounds. */
async function untilWell(p: Phone, rounds: number): Promise<void> {
  const end = new AbortController();
  const real = p.sync.round.bind(p.sync);
  p.sync.round = async () => {
    await real();
    if (--rounds === 0 || (!p.sync.standing.trouble && !p.sync.standing.broken)) end.abort();
  };
  await p.sync.run(end.signal);
}

describe("Sync sends events", () => {
  it("in one batch, by their exact texts", async () => {
    const p = phone(), own = await record(p, 3);
    await p.sync.round();
    assert.deepEqual(p.office.log.get(job), own.map((o) => o.sealed));
    assert.deepEqual(p.office.calls, ["append 1 2 3", "pull 0"]);
    assert.deepEqual(await p.kept.held(), { records: 0, apart: 0, shots: 0, refused: 0 });
    assert.equal(await p.kept.applied(job), 3);
  });

  it("strictly by counter, a batch for each run of one job", async () => {
    const p = phone({ jobs: async () => [] });
    for (const j of [job, job, otherJob, job]) await p.kept.record(draft({ job: j }), []);
    await p.sync.round();
    assert.deepEqual(p.office.calls, ["append 1 2", "append 3", "append 4"]);
  });

  it("in batches that are small enough", async () => {
    const p = phone({ jobs: async () => [] });
    for (const chars of [300_000, 300_000, 900_000, 10]) await p.kept.record(draft({ body: { text: "x".repeat(chars) } }), []);
    await record(p, 103);
    await p.sync.round();
    assert.deepEqual(appends(p).map((c) => c.split(" ").length - 1), [1, 1, 1, 100, 4]);
  });

  it("before an unsealed one only, and the rest once it is sealed", async () => {
    const p = phone();
    await record(p, 1);
    await p.kept.record(draft(), [photo(5)]);
    await record(p, 1);
    await p.sync.round();
    assert.deepEqual(appends(p), ["append 1"]);
    await p.kept.seal(2, (await p.kept.shotsOf([2])).map((s) => copyOf(s, 5)));
    await p.sync.round();
    assert.deepEqual(appends(p), ["append 1", "append 2 3"]);
  });

  it("and what is kept apart keeps back nothing", async () => {
    const p = phone(), own = await record(p, 3);
    p.office.poison.add(own[1]!.id);
    await p.sync.round();
    assert.deepEqual(p.office.log.get(job), [own[0]!.sealed, own[2]!.sealed]);
    assert.deepEqual((await p.kept.unsettled()).map((o) => [o.counter, o.state, o.reason]), [[2, "apart", "kind: no word"]]);
    await p.sync.round();
    assert.equal(appends(p).length, 1, "it is sent again only when somebody wants that");
  });

  it("one by one where the batch is refused", async () => {
    const p = phone();
    p.office.largest = 1;
    await record(p, 3);
    await p.sync.round();
    assert.deepEqual(appends(p), ["append 1 2 3", "append 1", "append 2", "append 3"]);
    assert.equal((await p.kept.held()).records, 0);
  });

  it("of a job that is not there: each is kept apart, the others go", async () => {
    const p = phone();
    p.office.jobs = new Set([job]);
    for (const j of [otherJob, otherJob, job]) await p.kept.record(draft({ job: j }), []);
    await p.sync.round();
    assert.deepEqual((await p.kept.unsettled()).map((o) => [o.counter, o.reason]),
      [[1, "There is nothing of that name here."], [2, "There is nothing of that name here."]]);
    assert.equal(p.office.log.get(job)?.length, 1);
  });

  it("again when the answer was lost, and they are stored once", async () => {
    const p = phone(), own = await record(p, 2);
    let times = 0;
    p.office.after = (call) => {
      if (call.startsWith("append") && times++ === 0) throw lost();
    };
    await p.sync.round();
    assert.equal((await p.kept.held()).records, 2);
    assert.equal(p.sync.standing.trouble?.trouble, "unreachable");
    await p.sync.round();
    assert.deepEqual(p.office.log.get(job), own.map((o) => o.sealed));
    assert.equal((await p.kept.held()).records, 0);
    assert.equal(p.sync.standing.trouble, undefined);
  });

  it("again when the answer is that to something else", async () => {
    const p = phone();
    await record(p, 1);
    const real = p.office.append.bind(p.office);
    p.office.append = async (j, texts) => (await real(j, texts)).map((r) => ({ ...r, id: otherJob }));
    await p.sync.round();
    assert.equal(p.sync.standing.trouble?.trouble, "unreachable");
    assert.equal((await p.kept.held()).records, 1);
  });
});

describe("Sync in trouble", () => {
  it("tries five times against 503, then it is well", async () => {
    const p = phone(), own = await record(p, 2);
    let left = 5;
    p.office.before = () => {
      if (left-- > 0) throw busy();
    };
    await untilWell(p, 20);
    assert.deepEqual(p.sleeps, [2000, 4000, 8000, 16_000, 32_000]);
    assert.deepEqual(p.office.log.get(job), own.map((o) => o.sealed));
    assert.equal(p.sync.standing.trouble, undefined);
  });

  it("waits a minute at most, at least half as long by chance, and as long as it is asked to", async () => {
    const p = phone({ random: () => 0 });
    await record(p, 1);
    p.office.before = () => {
      throw busy(p.sleeps.length === 8 ? 90_000 : 0);
    };
    await untilWell(p, 10);
    assert.deepEqual(p.sleeps, [1000, 2000, 4000, 8000, 16_000, 30_000, 30_000, 30_000, 90_000]);
  });

  it("keeps everything while the phone is not paired, and goes on when it is", async () => {
    const p = phone();
    await record(p, 2);
    p.office.before = () => {
      throw new WireError("unpaired", "Pair this phone.");
    };
    await p.sync.round();
    assert.equal(p.sync.standing.trouble?.trouble, "unpaired");
    assert.deepEqual(p.office.calls, ["append 1 2"]);
    assert.equal((await p.kept.held()).records, 2);
    p.office.before = () => {};
    await p.sync.round();
    assert.equal(p.office.log.get(job)?.length, 2);
  });

  it("says that the store is broken, and does not call that the network", async () => {
    const p = phone({ seal: () => Promise.reject(new Error("no room")) });
    await p.sync.round();
    assert.equal(p.sync.standing.broken, "no room");
    assert.equal(p.sync.standing.trouble, undefined);
    assert.equal(p.sync.standing.busy, false);
  });

  it("settles nothing that the store could not write down", async () => {
    const p = phone();
    await record(p, 3);
    let settles = 0;
    const broken = new Memory(p.disk, (call) => {
      if (call === "settle" && ++settles === 2) throw new Error("killed");
    });
    const sync = new Sync(broken, p.office, { seal: async () => {}, jobs: async () => [], sleep: async () => {}, random: () => 0,
      alone: async (f) => (await f(), "done"), changed: () => {} }, () => 0);
    await sync.round();
    assert.deepEqual((await p.kept.unsettled()).map((o) => o.counter), [2, 3]);
    await sync.round();
    assert.equal((await p.kept.held()).records, 0);
    assert.equal(p.office.log.get(job)?.length, 3);
  });

  it("leaves the round to another window that is at it", async () => {
    const p = phone({ alone: async () => "elsewhere" });
    await record(p, 1);
    await p.sync.round();
    assert.deepEqual(p.office.calls, []);
    assert.equal(p.sync.standing.trouble, undefined);
  });

  it("looks again soon whether that window is still at it: it may have been left", async () => {
    const end = new AbortController();
    let asked = 0;
    const p = phone({
      alone: async (f) => (asked++ ? (await f(), "done") : "elsewhere"),
      sleep: async (ms) => void (p.sleeps.push(ms), asked === 2 && end.abort()),
    });
    await record(p, 1);
    await p.sync.run(end.signal);
    assert.deepEqual(p.sleeps, [2000, 45_000]);
    assert.equal((await p.kept.held()).records, 0);
  });
});

describe("Sync when it is kicked", () => {
  it("during a round goes round once more at once", async () => {
    const end = new AbortController();
    const p = phone({ sleep: async () => end.abort() });
    await record(p, 1);
    p.office.before = async (call) => {
      if (call !== "pull 0") return;
      await p.kept.record(draft(), []);
      p.sync.kick();
    };
    await p.sync.run(end.signal);
    assert.deepEqual(appends(p), ["append 1", "append 2"]);
  });

  it("while it waits goes round at once", async () => {
    const end = new AbortController();
    let waits = 0;
    const p = phone({
      sleep: (_, signal) => new Promise((done) => {
        signal.addEventListener("abort", () => done());
        if (++waits === 2) end.abort();
        else setImmediate(async () => (await p.kept.record(draft(), []), p.sync.kick()));
      }),
    });
    await p.sync.run(end.signal);
    assert.deepEqual(appends(p), ["append 1"]);
    assert.equal(waits, 2);
  });

  it("during a round that fails waits first", async () => {
    const p = phone();
    await record(p, 1);
    let left = 2;
    p.office.before = () => {
      p.sync.kick();
      if (left-- > 0) throw lost();
    };
    await untilWell(p, 9);
    assert.deepEqual(p.sleeps, [2000, 4000]);
  });

  it("ends without waiting when it is told to during a round", async () => {
    const end = new AbortController();
    const p = phone();
    p.office.before = () => end.abort();
    await p.sync.run(end.signal);
    assert.deepEqual(p.sleeps, []);
  });
});

describe("Sync hears", () => {
  it("all pages of all jobs, those of others too", async () => {
    const p = phone({ jobs: async () => [otherJob, job] }), other = phone();
    other.office.log = p.office.log;
    await record(other, 450);
    await other.kept.record(draft({ job: otherJob }), []);
    await other.sync.round();
    await p.sync.round();
    assert.deepEqual(p.office.calls, ["pull 0", "pull 0", "pull 200", "pull 400"]);
    assert.deepEqual([await p.kept.applied(job), await p.kept.applied(otherJob)], [450, 1]);
  });

  it("nothing of a job that is gone, and the others go on", async () => {
    const p = phone({ jobs: async () => [otherJob, job] });
    p.office.jobs = new Set([job]);
    await record(p, 1);
    await p.sync.round();
    assert.equal(p.sync.standing.trouble, undefined);
    assert.equal(await p.kept.applied(job), 1);
  });

  it("and says when", async () => {
    const p = phone();
    p.pass(77);
    await p.sync.round();
    assert.equal(p.sync.standing.heardAt, 77);
    p.office.before = () => {
      throw lost();
    };
    p.pass(10);
    await p.sync.round();
    assert.equal(p.sync.standing.heardAt, 77);
  });
});

describe("Sync sends photos", () => {
  it("after all events and what others did, the smallest first", async () => {
    const p = phone();
    await recordShot(p, 30, 10);
    await recordShot(p, 20);
    await p.sync.round();
    assert.deepEqual(p.office.calls, ["append 1 2", "pull 0", `put ${sha(10)}`, `put ${sha(20)}`, `put ${sha(30)}`]);
    assert.deepEqual(await p.kept.held(), { records: 0, apart: 0, shots: 0, refused: 0 });
    assert.equal(p.disk.bytes.size, 0);
  });

  it("not of an event that the server keeps apart", async () => {
    const p = phone();
    p.office.poison.add((await recordShot(p, 10)).id);
    await p.sync.round();
    assert.deepEqual(p.office.calls, ["append 1", "pull 0"]);
    assert.equal((await p.kept.held()).shots, 1);
  });

  it("and stops when an event was recorded, which goes first", async () => {
    const end = new AbortController();
    const p = phone({ sleep: async () => end.abort() });
    await recordShot(p, 10, 20);
    p.office.before = async (call) => {
      if (call !== `put ${sha(10)}`) return;
      await p.kept.record(draft(), []);
      p.sync.kick();
    };
    await p.sync.run(end.signal);
    assert.deepEqual(p.office.calls.filter((c) => !c.startsWith("pull")), ["append 1", `put ${sha(10)}`, "append 2", `put ${sha(20)}`]);
  });

  it("and keeps the bytes until they are durable, asking now and then", async () => {
    const p = phone();
    p.office.takesPhotosAs = "stored";
    await recordShot(p, 10);
    await p.sync.round();
    assert.equal(p.disk.bytes.size, 2);
    await p.sync.round();
    assert.deepEqual(p.office.calls.filter((c) => c.startsWith("kept")), [], "it was asked a moment ago");
    p.pass(15_000);
    await p.sync.round();
    assert.equal(p.disk.bytes.size, 2);
    p.office.photos.set(sha(10), "durable");
    p.pass(15_000);
    await p.sync.round();
    assert.equal(p.disk.bytes.size, 0);
    assert.equal(p.office.calls.filter((c) => c.startsWith("put")).length, 1);
  });

  it("and asks although the clock was stepped back", async () => {
    const p = phone();
    p.office.takesPhotosAs = "stored";
    await recordShot(p, 10);
    await p.sync.round();
    p.office.photos.set(sha(10), "durable");
    p.pass(-86_400_000);
    await p.sync.round();
    assert.equal(p.disk.bytes.size, 0);
  });

  for (const was of ["received", undefined] as const) {
    it(`again when the server ${was ? "lost them" : "knows nothing of them"}`, async () => {
      const p = phone();
      p.office.takesPhotosAs = "stored";
      await recordShot(p, 10);
      await p.sync.round();
      if (was) p.office.photos.set(sha(10), was);
      else p.office.photos.clear();
      p.office.takesPhotosAs = "durable";
      p.pass(15_000);
      await p.sync.round();
      assert.equal(p.office.photos.get(sha(10)), "durable");
      assert.equal((await p.kept.held()).shots, 0);
    });
  }

  it("and goes on with the next when one is refused, or gone from this phone", async () => {
    const p = phone();
    const own = await recordShot(p, 10, 20, 30);
    p.office.before = (call) => {
      if (call === `put ${sha(20)}`) throw new WireError("refused", "no photo");
    };
    const [gone] = await p.kept.shotsOf([own.counter]);
    for (const which of ["original", "copy"]) p.disk.bytes.delete(`${gone!.id} ${which}`);
    await p.sync.round();
    assert.deepEqual((await p.kept.shotsOf([own.counter])).map((s) => [s.bytes, s.state]), [[10, "refused"], [20, "refused"], [30, "safe"]]);
    assert.equal(p.sync.standing.broken, undefined);
  });
});
