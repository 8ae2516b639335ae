import assert from "node:assert/strict";
import { describe, it } from "node:test";
import type { Length, Unit } from "../shared/length.ts";
import { lengthOf, nothing, press, shown, type Key, type Typed } from "../page/typed.ts";

function typed(keys: string, unit: Unit, before?: Length): Typed {
  return [...keys].reduce((t, k) => press(t, (k === "/" ? "⁄16" : k) as Key), nothing(unit, before));
}

const saysOf = (t: Typed) => {
  const s = shown(t);
  return s.sign + s.kept + s.digits + "_".repeat(s.blanks) + s.rest;
};

describe("the keypad", () => {
  for (const [keys, unit, before, says, value] of [
    ["", "mm", undefined, "_", undefined],
    ["1430", "mm", undefined, "1430", 1430],
    ["", "mm", { value: 1430, unit: "mm" }, "14__", undefined],
    ["0", "mm", { value: 1430, unit: "mm" }, "140_", undefined],
    ["05½", "mm", { value: 1430, unit: "mm" }, "1405½", 1405.5],
    ["12", "mm", { value: -1299.5, unit: "mm" }, "−1212", -1212],
    ["7", "mm", { value: 62, unit: "mm" }, "7", 7],
    ["", "ft", { value: 4.57, unit: "ft" }, "4.__", undefined],
    ["6", "ft", { value: 4.57, unit: "ft" }, "4.6_", undefined],
    ["62", "ft", { value: 4.57, unit: "ft" }, "4.62", 4.62],
    ["625", "ft", { value: 4.57, unit: "ft" }, "4.625", 4.625],
    ["⌫5.1", "ft", { value: 4.57, unit: "ft" }, "5.1", 5.1],
    ["6⌫", "ft", { value: 4.57, unit: "ft" }, "4.__", undefined],
    [".62", "ft", { value: 0.57, unit: "ft" }, ".62", 0.62],
    ["", "ft", { value: 1430, unit: "mm" }, "_", undefined],
    ["55/3", "in", { value: 56, unit: "in" }, "55 3⁄16", 55.1875],
  ] as [string, Unit, Length | undefined, string, number | undefined][]) {
    it(`says ${says} after ${keys || "nothing"} in ${unit}${before ? ` and ${before.value} ${before.unit}` : ""}`, () => {
      const t = typed(keys, unit, before);
      assert.equal(saysOf(t), says);
      assert.equal(lengthOf(t)?.value, value);
    });
  }
});
