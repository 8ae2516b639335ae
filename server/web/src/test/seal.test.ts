import assert from "node:assert/strict";
import { describe, it } from "node:test";
import { Memory } from "../shared/memory.ts";
import type { Envelope } from "../shared/event.ts";
import { Sealer } from "../page/seal.ts";
import { draft, photo } from "./kept.ts";

const undecodable = () => Promise.reject(new Error("no picture"));

async function sealed(kept: Memory, shrink: (media: string, data: ArrayBuffer) => Promise<ArrayBuffer>): Promise<Envelope> {
  await new Sealer(kept, shrink).run();
  const [own] = await kept.toSend(1);
  return JSON.parse(own!.sealed!) as Envelope;
}

describe("Sealer", () => {
  it("names the copy that was made", async () => {
    const kept = new Memory();
    await kept.record(draft(), [photo(50)]);
    const [file] = (await sealed(kept, async () => new Uint8Array([1, 2, 3]).buffer)).files!;
    // SHA-256 of 01 02 03, by sha256sum of coreutils
    assert.deepEqual([file!.bytes, file!.media_type, file!.sha256], [3, "image/jpeg", "039058c6f2c0cb492c533b0a4d14ef77cc0f78abccced5287d84a1a2011cfb81"]);
  });

  it("names the picture itself where none can be made", async () => {
    const kept = new Memory();
    await kept.record(draft(), [photo(50)]);
    const [file] = (await sealed(kept, undecodable)).files!;
    assert.deepEqual([file!.bytes, file!.media_type], [50, "image/heic"]);
  });

  it("keeps what is too large to be sent, and sends its event", async () => {
    const kept = new Memory();
    await kept.record(draft(), [photo(16 * 2 ** 20 + 1), photo(16 * 2 ** 20)]);
    assert.deepEqual((await sealed(kept, undecodable)).files!.map((f) => f.bytes), [16 * 2 ** 20]);
    const [large] = await kept.shotsOf([1]);
    assert.equal(large!.state, "refused");
    assert.match(large!.reason!, /too large/);
    assert.equal((await kept.originalOf(large!))!.byteLength, 16 * 2 ** 20 + 1);
  });

  it("goes on where the bytes of one are gone", async () => {
    const kept = new Memory();
    await kept.record(draft(), [photo(50)]);
    kept.disk.bytes.clear();
    assert.equal((await sealed(kept, undecodable)).files, undefined);
    assert.equal((await kept.held()).refused, 1);
  });
});
