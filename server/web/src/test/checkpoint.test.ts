import assert from "node:assert/strict";
import { describe, it } from "node:test";
import { joins, readJoint, readNote, type Checkpoint } from "../shared/checkpoint.ts";
import { joint, note, published } from "./published.ts";

const at = (size: number): Checkpoint => ({ size, root: published.roots[size]!, note: "" });
const flipped = (hash: string) => (hash.startsWith("A") ? "B" : "A") + hash.slice(1);

describe("A consistency proof", () => {
  for (const { from, to, path } of published.joints) {
    it(`of ${from} and ${to} is the published one`, async () => {
      assert.equal(await joins(at(from), at(to), path), true);
    });
    it(`of ${from} and ${to} is refused when anything in it is changed`, async () => {
      const wrong = async (what: string, held: Checkpoint, shown: Checkpoint, p: string[]) => assert.equal(await joins(held, shown, p), false, what);
      for (const i of path.keys()) await wrong(`hash ${i}`, at(from), at(to), path.map((h, k) => (k === i ? flipped(h) : h)));
      await wrong("one less", at(from), at(to), path.slice(0, -1));
      await wrong("the first left out", at(from), at(to), path.slice(1));
      await wrong("none", at(from), at(to), []);
      await wrong("one more", at(from), at(to), [...path, path[0]!]);
      await wrong("one more before", at(from), at(to), [path[0]!, ...path]);
      await wrong("another root held", { ...at(from), root: flipped(at(from).root) }, at(to), path);
      await wrong("another root shown", at(from), { ...at(to), root: flipped(at(to).root) }, path);
      await wrong("back in time", at(to), at(from), path);
      for (const size of [from - 1, from + 1, from ^ 2]) await wrong(`${size} held`, { ...at(from), size }, at(to), path);
      for (const size of [to * 2, to >> 1]) await wrong(`${size} shown`, at(from), { ...at(to), size }, path);
    });
  }
});

describe("A note", () => {
  it("is read", () => {
    const text = note(8);
    assert.deepEqual(readNote(text), { size: 8, root: published.roots[8], note: text });
  });
  it("is not read where it is none", () => {
    for (const text of ["", "<html>", note(8).replace("\n8\n", "\n08\n"), note(8).replace("\n8\n", "\n-8\n"), note(8).replace("\n8\n", "\n9007199254740993\n"),
      note(8).replace("=\n", "\n"), note(8).replace("\n\n— ", "\n— "), `\n${note(8)}`]) assert.equal(readNote(text), undefined, text);
  });
});

describe("A proof's text", () => {
  const text = joint(6, 8);
  it("is read", () => {
    assert.deepEqual(readJoint(text), { old: 6, path: published.joints.find((j) => j.from === 6 && j.to === 8)!.path, shown: readNote(note(8)) });
  });
  it("is not read where it is none", () => {
    for (const other of ["", "old 6", text.replace("old 6", "old six"), text.replace("old ", ""), text.replace("=\n", "\n"), note(8)]) assert.equal(readJoint(other), undefined, other);
  });
});
