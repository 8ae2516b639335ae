// Lengths on the phone's screens are those of the server's pages: the rows are those of
// levelling/display_test.go.
import assert from "node:assert/strict";
import { test } from "node:test";
import { plusMinus, show, showWith, signed } from "../shared/length.ts";

const rows: [mm: number, whole: string, inches: string, feet: string][] = [
  [0, "0", "0″", "0.00"],
  [-0.4, "0", "0″", "0.00"],
  [0.5, "1", "<1⁄16″", "<0.01"],
  [-0.6, "−1", "−<1⁄16″", "−<0.01"],
  [0.79375, "1", "1⁄16″", "<0.01"],
  [1.6, "2", "1⁄16″", "0.01"],
  [-24.60625, "−25", "−1″", "−0.08"],
  [30.1625, "30", "1 3⁄16″", "0.10"],
  [304.00625, "304", "12″", "1.00"],
  [1284, "1\u2009284", "50 9⁄16″", "4.21"],
  [-12345.6, "−12\u2009346", "−486 1⁄16″", "−40.50"],
];

test("a length is written as the server writes it", () => {
  for (const [mm, ...want] of rows) assert.deepEqual([show(mm, "mm"), show(mm, "in"), show(mm, "ft")], want, `${mm} mm`);
});

test("a change has its sign, and nought has none", () => {
  assert.deepEqual([signed(17, "mm"), signed(-3, "mm"), signed(-0.2, "mm")], ["+17", "−3", "0"]);
  assert.deepEqual([signed(3.2, "in"), signed(-0.6, "in"), signed(0.1, "in")], ["+1⁄8″", "−<1⁄16″", "0″"]);
  assert.deepEqual([signed(3.2, "ft"), signed(-3.2, "ft"), signed(0, "ft")], ["+0.01", "−0.01", "0.00"]);
});

test("a ± is never less than the unit can show", () => {
  assert.deepEqual([plusMinus(0.3, "mm"), plusMinus(0.3, "in"), plusMinus(0.3, "ft"), plusMinus(2.4, "mm")], ["±1", "±1⁄16″", "±0.01", "±2"]);
});

test("a length with its unit", () => {
  assert.deepEqual([showWith(3, "mm"), showWith(3.175, "in"), showWith(3.048, "ft")], ["3 mm", "1⁄8″", "0.01 ft"]);
});
