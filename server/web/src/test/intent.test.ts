import assert from "node:assert/strict";
import { describe, it } from "node:test";
import { Disk, Memory } from "../shared/memory.ts";
import { Intent } from "../page/intent.ts";
import { photo } from "./kept.ts";

const screen = "#/job/1/do/photo?support=B1-1";

/** An app on a disk: another one on the same is the app after a restart. */
function app(disk: Disk, at = screen) {
  const place = { at };
  return { place, intent: new Intent(new Memory(disk), () => place.at) };
}

describe("Intent", () => {
  it("the app ended with the camera open comes back with what was typed and taken", async () => {
    const disk = new Disk();
    await app(disk).intent.opens({ stage: "before" }, [photo(5)]);
    const { intent } = app(disk);
    const was = await intent.resume();
    assert.deepEqual([was?.hash, was?.open], [screen, true]);
    assert.deepEqual(intent.takeTyped(), { stage: "before" });
    assert.deepEqual(intent.takeShots(), [photo(5)]);
  });

  it("each is taken once", async () => {
    const disk = new Disk();
    await app(disk).intent.opens("typed", [photo(5)]);
    const { intent } = app(disk);
    await intent.resume();
    intent.takeTyped();
    intent.takeShots();
    assert.equal(intent.takeTyped(), undefined);
    assert.deepEqual(intent.takeShots(), []);
  });

  it("another screen is given nothing", async () => {
    const disk = new Disk();
    await app(disk).intent.opens("typed", [photo(5)]);
    const { intent, place } = app(disk);
    await intent.resume();
    place.at = "#/job/1";
    assert.equal(intent.takeTyped(), undefined);
    assert.deepEqual(intent.takeShots(), []);
  });

  it("what was taken and not saved outlives two restarts", async () => {
    const disk = new Disk();
    await app(disk).intent.took("typed", [photo(5), photo(6)]);
    await app(disk).intent.resume();
    const { intent } = app(disk);
    assert.equal((await intent.resume())?.open, false);
    assert.deepEqual(intent.takeShots(), [photo(5), photo(6)]);
  });

  it("a camera that was closed without a photo brings nobody back", async () => {
    const disk = new Disk();
    const { intent } = app(disk);
    await intent.opens("typed", []);
    await intent.took("typed", []);
    assert.equal(await app(disk).intent.resume(), undefined);
  });

  it("a screen that was left is not come back to", async () => {
    const disk = new Disk();
    const { intent, place } = app(disk);
    await intent.took("typed", [photo(5)]);
    await intent.moved();
    assert.ok(await app(disk).intent.resume(), "the same screen");
    place.at = "#/job/1";
    await intent.moved();
    assert.equal(await app(disk).intent.resume(), undefined);
  });

  it("what was saved is not taken again, on the same screen either", async () => {
    const disk = new Disk();
    const { intent } = app(disk);
    await intent.took("typed", [photo(5)]);
    await intent.saved();
    assert.equal(await app(disk).intent.resume(), undefined);
    assert.deepEqual(intent.takeShots(), []);
  });

  it("without room the camera opens all the same", async () => {
    const full = new Memory(new Disk(), () => {
      throw new Error("full");
    });
    await new Intent(full, () => screen).opens("typed", [photo(5)]);
  });
});
