import assert from "node:assert/strict";
import { describe, it } from "node:test";
import { Memory } from "../shared/memory.ts";
import { Sync } from "../shared/sync.ts";
import { seenName, Witness, type Seen } from "../shared/witness.ts";
import { draft } from "./kept.ts";
import { Office } from "./office.ts";
import { joint, note, published } from "./published.ts";

const job = draft().job;

/** A phone that looks on, and what it tells the office. */
function phone() {
  const office = new Office(), kept = new Memory(), told: string[] = [];
  let now = 0, there = true;
  const witness = new Witness(kept, office, async (_, text) => there && told.push(text) > 0, () => now);
  return {
    office, kept, told, witness, pass: (ms: number) => (now += ms), leave: (gone: boolean) => (there = !gone),
    seen: () => kept.read<Seen>(seenName(job)),
    async look(size: number, text: string | undefined = note(size)) {
      if (text === undefined) office.signed.delete(job);
      else office.signed.set(job, text);
      await witness.look(job, size);
    },
  };
}

const other = published.roots[7]!; // of no other size

describe("A witness", () => {
  it("keeps the last checkpoint that continues the one before", async () => {
    const p = phone();
    p.office.joints.set("6 8", joint(6, 8));
    await p.look(6);
    await p.look(8);
    assert.deepEqual(await p.seen(), { size: 8, root: published.roots[8], note: note(8) });
    assert.deepEqual(p.told, []);
  });

  it("is content with a server that signs nothing, and asks it once for each record", async () => {
    const p = phone();
    p.office.signed.clear();
    for (const seq of [3, 3, 3, 4]) await p.witness.look(job, seq);
    assert.deepEqual(p.office.calls, ["checkpoint", "checkpoint"]);
    assert.equal(await p.seen(), undefined);
  });

  it("is content with a server that no longer signs", async () => {
    const p = phone();
    await p.look(6);
    p.office.signed.clear();
    await p.witness.look(job, 7);
    assert.deepEqual([(await p.seen())?.size, p.told], [6, []]);
  });

  it("looks again after an hour at a job in which nothing was recorded", async () => {
    const p = phone();
    await p.look(8);
    await p.look(8);
    assert.deepEqual(p.office.calls, ["checkpoint"]);
    p.pass(3_700_000);
    await p.look(8, note(8, other));
    assert.match((await p.seen())!.wrong!, /Now 8 are signed with the root/);
  });

  for (const [what, shown, proof] of [
    ["does not continue it", note(8, other), joint(6, 8)],
    ["comes without a proof", note(8), undefined],
    ["comes with a proof of something else", note(8), joint(6, 7)],
    ["comes with no proof at all", note(8), "<html>"],
    ["comes with a proof from another size", note(8), joint(1, 8)],
  ] as const) {
    it(`says that a checkpoint ${what}`, async () => {
      const p = phone();
      await p.look(6);
      if (proof) p.office.joints.set("6 8", proof);
      await p.look(8, shown);
      const seen = await p.seen();
      assert.deepEqual([seen?.size, seen?.root, seen?.told], [6, published.roots[6], true]);
      assert.equal(p.told.length, 1);
      assert.match(p.told[0]!, /does not agree with what was signed.* 6 records/);
      assert.ok(p.told[0]!.includes(note(6)), "it hands over what it holds");
      await p.look(8, note(8));
      assert.equal(p.told.length, 1, "it says it once");
    });
  }

  it("says that records are gone", async () => {
    for (const left of [note(5), undefined]) {
      const p = phone();
      await p.look(8);
      await p.look(5, left);
      if (!left) {
        p.office.signed.clear();
        await p.witness.look(job, 4);
      }
      assert.equal(p.told.length, 1, String(left));
    }
  });

  it("takes no older number of another window for records that are gone", async () => {
    const p = phone();
    await p.look(8);
    p.office.signed.set(job, note(8));
    await p.witness.look(job, 5);
    assert.deepEqual(p.told, []);
  });

  it("tells it later where nobody is there to tell it", async () => {
    const p = phone();
    await p.look(6);
    p.leave(true);
    await p.look(8, note(8, other));
    assert.deepEqual([(await p.seen())?.told, p.told.length], [undefined, 0]);
    p.leave(false);
    await p.look(8);
    await p.look(8);
    assert.deepEqual([(await p.seen())?.told, p.told.length], [true, 1]);
  });
});

describe("Sync has a witness look", () => {
  it("at every job, with how far it goes, after all is sent", async () => {
    const p = phone();
    const looks: string[] = [];
    const sync = new Sync(p.kept, p.office, {
      seal: async () => {}, jobs: async () => [job, "gone"], sleep: async () => {}, random: () => 1, alone: async (f) => (await f(), "done"), changed: () => {},
      reached: async (at, seq) => void looks.push(`${at === job} ${seq} after ${p.office.calls.at(-1)}`),
    }, () => 0);
    p.office.jobs = new Set([job]);
    await p.kept.record(draft(), []);
    await sync.round();
    assert.equal(sync.standing.trouble, undefined);
    assert.deepEqual(looks, ["true 1 after pull 0"]);
  });
});
