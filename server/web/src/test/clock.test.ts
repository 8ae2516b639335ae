import assert from "node:assert/strict";
import { describe, it } from "node:test";
import { Clock } from "../shared/clock.ts";

/** A device whose clock can be stepped, and what it says. */
function device() {
  const times = { time: 1_000_000, since: 0, now: () => times.time, steady: () => times.since };
  let sessions = 0;
  const clock = new Clock(times, () => `s${++sessions}`);
  const pass = (ms: number) => ((times.time += ms), (times.since += ms));
  const step = (ms: number) => (times.time += ms);
  return { clock, pass, step, now: () => times.time };
}

describe("Clock", () => {
  it("keeps its session while the clock goes, with a little drift", () => {
    const { clock, pass, step } = device();
    pass(8 * 3600_000);
    step(1900);
    assert.equal(clock.now(), 1_000_000 + 8 * 3600_000 + 1900);
    assert.equal(clock.session, "s1");
  });

  for (const by of [-86_400_000, -2001, 2001, 3 * 3600_000]) {
    it(`starts a session without offset when the clock is stepped by ${by} ms`, () => {
      const { clock, step } = device();
      clock.learn(1_000_500, 1_000_000, 1_000_000);
      assert.equal(clock.offset, 500);
      step(by);
      clock.now();
      assert.deepEqual([clock.session, clock.offset], ["s2", undefined]);
      clock.now();
      assert.equal(clock.session, "s2");
    });
  }

  it("takes the server's time as that of the middle of the trip", () => {
    const { clock, pass, now } = device();
    const sent = now();
    pass(300);
    clock.learn(sent + 5000 + 150, sent, now());
    assert.equal(clock.offset, 5000);
  });

  it("believes the shortest trip of a session", () => {
    const { clock } = device();
    clock.learn(1_000_400, 1_000_000, 1_000_400);
    assert.equal(clock.offset, 200);
    clock.learn(1_000_350, 1_000_200, 1_000_400);
    assert.equal(clock.offset, 50);
    clock.learn(1_009_999, 1_000_000, 1_000_300);
    assert.equal(clock.offset, 50);
  });

  it("believes no trip that took too long, or none at all", () => {
    const { clock } = device();
    clock.learn(1_000_000, 990_000 - 1, 1_000_000);
    clock.learn(1_000_000, 1_000_001, 1_000_000);
    assert.equal(clock.offset, undefined);
  });

  it("believes no trip in which the clock was stepped", () => {
    for (const by of [3000, -3000]) {
      const { clock, pass, step, now } = device();
      const sent = now();
      pass(4000);
      step(by);
      pass(100);
      clock.learn(sent, sent, now());
      assert.deepEqual([clock.session, clock.offset], ["s2", undefined]);
    }
  });
});
