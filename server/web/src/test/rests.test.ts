// The reading that a signature rests on is found however long ago it was.
import assert from "node:assert/strict";
import { describe, it } from "node:test";
import { lastReadingOf } from "../page/record/rests.ts";
import type { Line } from "../shared/picture.ts";

const line = (seq: number, of: Partial<Line>) => ({ seq, id: `id ${seq}`, kind: "note", ...of }) as Line;
const book = (all: Line[]) => ({ lines: (limit: number) => Promise.resolve(all.slice(-limit)) });

describe("the last reading of a place", () => {
  const reading = { kind: "reading", points: ["B1-1"], staff_mm: 1400 };
  const others = Array.from({ length: 9_000 }, (_, i) => line(i + 3, { ...reading, points: ["B1-2"] }));

  it("stands before thousands of others", async () => {
    const all = [line(1, reading), line(2, reading), ...others];
    assert.deepEqual(await lastReadingOf(book(all), "B1-1"), { reading: "id 2" });
  });

  it("is none where none counts", async () => {
    const all = [line(1, { ...reading, voided: "misread" }), line(2, { kind: "reading", points: ["B1-1"] }), ...others];
    assert.deepEqual(await lastReadingOf(book(all), "B1-1"), {});
  });
});
