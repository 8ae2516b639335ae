import assert from "node:assert/strict";
import { describe, it } from "node:test";
import encodeQR from "qr";
import decodeQR from "qr/decode.js";
import { pack, unpack } from "../page/handed.ts";
import { draft } from "./kept.ts";

const job = draft().job;

/** A set-up as a careful crew makes it: every datum there is, and all that is known. */
const body = {
  instrument: "Rotating laser No. 2, the yellow one", method: "receiver", sd_mm_per_m: 0.05,
  datums: Array.from({ length: 4 }, (_, i) => ({ datum: `D${i + 1} kerb by the gate`, staff: { value: 1400.5 + i * 37, unit: "mm" } })),
};
const text = JSON.stringify({ ...draft({ kind: "setup", body }), device: "0195a000-0000-7000-8000-0000000000dd", device_seq: 7, offset_ms: -1200, clock_session: "0195a000-0000-7000-8000-0000000000ee" });

/** A code as a camera sees it: dark on light, so many pixels a square. */
function photographed(squares: boolean[][], pixels: number) {
  const side = squares.length * pixels;
  const data = new Uint8ClampedArray(side * side * 4).fill(255);
  for (let y = 0; y < side; y++) {
    for (let x = 0; x < side; x++) if (squares[Math.floor(y / pixels)]![Math.floor(x / pixels)]) data.fill(20, 4 * (y * side + x), 4 * (y * side + x) + 3);
  }
  return { width: side, height: side, data };
}

const codeOf = (packed: string) => encodeQR(packed, "raw", { ecc: "low", border: 4 });

describe("a set-up that is handed over", () => {
  it("arrives by the code as its exact text", async () => {
    const read = decodeQR(photographed(codeOf(await pack(text)), 4));
    assert.equal((await unpack(read, job)).text, text);
  });

  it("makes a code coarse enough for a phone to read from a phone", async () => {
    const version = (codeOf(await pack(text)).length - 8 - 17) / 4;
    assert.ok(version <= 20, `version ${version}`);
  });

  it("keeps letters that are not English", async () => {
    const event = text.replace("the yellow one", "“Māhina”, ½ way");
    assert.equal((await unpack(await pack(event), job)).text, event);
  });

  it("is none when another code was scanned", async () => {
    for (const code of ["https://example.org/", "", "8CHARSOK"]) await assert.rejects(unpack(code, job), /no set-up/);
  });

  it("is none when it was read in part", async () => {
    const packed = await pack(text);
    for (const part of [packed.slice(0, 100), packed.slice(0, -1), packed.slice(0, 8), packed.replace(/..$/, "ZZ")]) await assert.rejects(unpack(part, job), /scan it again/);
  });

  it("is none when it is of another kind", async () => {
    await assert.rejects(unpack(await pack(text.replace('"setup"', '"note"')), job), /no set-up/);
  });

  it("is none when it is of another job", async () => {
    await assert.rejects(unpack(await pack(text), "0195a000-0000-7000-8000-00000000000b"), /another job/);
  });
});
