import assert from "node:assert/strict";
import { describe, it } from "node:test";
import { Flags } from "../page/flags.ts";
import { Memory } from "../shared/memory.ts";
import type { Flag } from "../shared/picture.ts";

const job = "0195a000-0000-7000-8000-00000000000a";
const flag = (seq: number, text = "order uncertain"): Flag => ({ id: `0195a000-0000-7000-8000-${String(seq).padStart(12, "0")}`, seq, text });

describe("flags", () => {
  it("of a job seen for the first time are not new", async () => {
    assert.deepEqual(await new Flags(job, new Memory()).learn([flag(3)]), []);
  });

  it("are new once", async () => {
    const flags = new Flags(job, new Memory());
    await flags.learn([]);
    assert.deepEqual(await flags.learn([flag(3), flag(4)]), [flag(3), flag(4)]);
    assert.deepEqual(await flags.learn([flag(3), flag(4), flag(4, "another")]), [flag(4, "another")]);
  });

  it("stay known when the app is started again", async () => {
    const kept = new Memory();
    await new Flags(job, kept).learn([flag(3)]);
    assert.deepEqual(await new Flags(job, kept).learn([flag(3), flag(4)]), [flag(4)]);
  });

  it("that came late are looked at first, whatever their number", async () => {
    const flags = new Flags(job, new Memory());
    await flags.learn([flag(7), flag(9)]);
    await flags.learn([flag(2), flag(7), flag(9)]);
    assert.deepEqual(flags.latest([flag(2), flag(7), flag(9)]).map((f) => f.seq), [2, 9, 7]);
  });

  it("that went are new when they come again", async () => {
    const flags = new Flags(job, new Memory());
    await flags.learn([flag(3)]);
    await flags.learn([]);
    assert.deepEqual(await flags.learn([flag(3)]), [flag(3)]);
  });
});
