// join(wasm) is the same module with its data in few segments. The linker leaves every
// short run of zeros out and gives what comes after a segment with an address, as many as
// browsers take, 100 000; a run of zeros costs a packed file nothing and an address does.
"use strict";
const { withData } = require("./module.cjs");

/** The longest run of zeros that is written out, bytes. */
const longestGap = 64;

exports.join = (wasm) => withData(wasm, (list) => together(list).map(({ address, parts }) => ({ address, data: Buffer.concat(parts) })));

/** The segments by address, those joined that have few zeros between them. Where two lie
 *  on each other their order counts, and nothing may be moved. */
function together(list) {
  const joined = [];
  let end = 0;
  for (const { address, data } of [...list].sort((a, b) => a.address - b.address)) {
    if (address < end) throw new Error(`two segments lie on each other at ${address}`);
    const last = joined.at(-1);
    if (last && address - end <= longestGap) last.parts.push(Buffer.alloc(address - end), data);
    else joined.push({ address, parts: [data] });
    end = address + data.length;
  }
  return joined;
}
