import assert from "node:assert/strict";
import { test } from "node:test";
import { cut, differing } from "../page/redraw.ts";

const support = (id: string, number: string) => `<a class="support" href="#/${id}"><title>${id}: &lt;/a&gt;</title>\n<text>${number}</text>\n</a>\n`;
const drawing = (wide: number, ...supports: string[]) => `<svg class="floor" width="${wide}">\n<g class="datum">\n</g>\n${supports.join("")}<line/>\n</svg>\n`;

test("a drawing is cut at its supports, and nothing of it is lost", () => {
  const svg = drawing(300, support("A", "+3"), support("B", "0"));
  const { supports, rest } = cut(svg);
  assert.equal(supports.length, 2);
  let i = 0;
  assert.equal(rest.replace(/\0/g, () => supports[i++]!), svg);
});

test("what differs is known by its number", () => {
  const before = cut(drawing(300, support("A", "+3"), support("B", "0"), support("C", "1")));
  assert.deepEqual(differing(before, cut(drawing(300, support("A", "+3"), support("B", "−1"), support("C", "1")))), [1]);
  assert.deepEqual(differing(before, before), []);
});

test("where more differs than supports, all is drawn", () => {
  const before = cut(drawing(300, support("A", "+3")));
  assert.equal(differing(before, cut(drawing(301, support("A", "+3")))), undefined);
  assert.equal(differing(before, cut(drawing(300, support("A", "+3"), support("B", "0")))), undefined);
});
