import assert from "node:assert/strict";
import { describe, it } from "node:test";
import { ahead, newID, stamp } from "../shared/event.ts";

const uuid7 = /^[0-9a-f]{8}-[0-9a-f]{4}-7[0-9a-f]{3}-[89ab][0-9a-f]{3}-[0-9a-f]{12}$/;

describe("newID", () => {
  it("is a UUID of version 7 that starts with its time", () => {
    // The example of RFC 9562, appendix A.6.
    const random = (b: Uint8Array) => {
      b.set([0, 0, 0, 0, 0, 0, 0x0c, 0xc3, 0x18, 0xc4, 0xdc, 0x0c, 0x0c, 0x07, 0x39, 0x8f]);
      return b;
    };
    assert.equal(newID(0x017f22e279b0, random), "017f22e2-79b0-7cc3-98c4-dc0c0c07398f");
  });

  it("keeps version and variant whatever is random", () => {
    for (const byte of [0, 0x55, 0xaa, 0xff]) assert.match(newID(1_772_400_000_000, (b) => b.fill(byte)), uuid7);
  });

  it("sorts by its time, and is never the same", () => {
    const ids = Array.from({ length: 1000 }, (_, i) => newID(1_772_400_000_000 + i));
    assert.deepEqual([...ids].sort(), ids);
    assert.equal(new Set(Array.from({ length: 1000 }, () => newID(0))).size, 1000);
  });
});

describe("stamp", () => {
  const ms = Date.UTC(2026, 2, 1, 23, 15, 0, 7);
  for (const [zone, minutes, want] of [
    ["UTC", 0, "2026-03-01T23:15:00.007+00:00"],
    ["ahead, in the next day", 660, "2026-03-02T10:15:00.007+11:00"],
    ["ahead by a part of an hour", 345, "2026-03-02T05:00:00.007+05:45"],
    ["behind by a part of an hour", -210, "2026-03-01T19:45:00.007-03:30"],
  ] as const) {
    it(zone, () => {
      assert.equal(stamp(ms, minutes), want);
      assert.equal(Date.parse(stamp(ms, minutes)), ms);
    });
  }
});

describe("ahead", () => {
  for (const [what, at, zone, want] of [
    ["summer", "2026-01-10T03:00:00.123Z", "Australia/Sydney", 660],
    ["winter", "2026-07-10T03:00:00Z", "Australia/Sydney", 600],
    ["the last moment of summer", "2026-04-04T15:59:59.999Z", "Australia/Sydney", 660],
    ["the first of winter", "2026-04-04T16:00:00Z", "Australia/Sydney", 600],
    ["half an hour", "2026-01-10T03:00:00Z", "Australia/Adelaide", 630],
    ["three quarters", "2026-01-10T03:00:00Z", "Asia/Kathmandu", 345],
    ["behind", "2026-01-10T03:00:00Z", "America/St_Johns", -210],
    ["midnight there", "2026-01-10T13:00:00Z", "Australia/Sydney", 660],
    ["before 1970, between two seconds", "1969-12-31T23:59:59.500Z", "UTC", 0],
  ] as const) {
    it(what, () => assert.equal(ahead(Date.parse(at), zone), want));
  }

  it("is the device's own in an unknown zone", () => {
    const at = Date.UTC(2026, 0, 10);
    assert.equal(ahead(at, "Nowhere/Atall"), -new Date(at).getTimezoneOffset());
  });
});
