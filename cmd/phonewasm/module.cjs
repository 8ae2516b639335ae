// withData(wasm, change) is a module whose data are what change makes of its segments, a
// list of { address, data }. All else is untouched.
"use strict";

const dataSection = 11;

exports.withData = (wasm, change) => {
  const out = [wasm.subarray(0, 8)]; // the magic number and the version
  for (let at = 8; at < wasm.length; ) {
    const [size, begin] = number(wasm, at + 1);
    const end = begin + size;
    if (wasm[at] === dataSection) out.push(section(change(segments(wasm, begin))));
    else out.push(wasm.subarray(at, end));
    at = end;
  }
  return Buffer.concat(out);
};

/** The segments of a data section, each at a constant address of the one memory. */
function segments(wasm, begin) {
  let [count, at] = number(wasm, begin);
  const list = [];
  while (count-- > 0) {
    if (wasm[at] !== 0x00 || wasm[at + 1] !== 0x41) throw new Error("a segment is not of memory 0 at an i32.const");
    const [address, ended] = number(wasm, at + 2);
    const [size, data] = number(wasm, ended + 1); // past the end of the expression
    list.push({ address, data: wasm.subarray(data, data + size) });
    at = data + size;
  }
  return list;
}

function section(list) {
  const written = [unsigned(list.length)];
  for (const { address, data } of list) {
    written.push(Buffer.from([0x00, 0x41]), signed(address), Buffer.from([0x0b]), unsigned(data.length), data);
  }
  const all = Buffer.concat(written);
  return Buffer.concat([Buffer.from([dataSection]), unsigned(all.length), all]);
}

/** A LEB128 number that is not negative, and where it ends. */
function number(wasm, at) {
  let value = 0;
  for (let scale = 1; ; scale *= 128) {
    const byte = wasm[at++];
    value += (byte & 0x7f) * scale;
    if (byte < 0x80) return [value, at];
  }
}

function unsigned(n) {
  const bytes = [];
  for (; n > 0x7f; n = Math.floor(n / 128)) bytes.push((n % 128) | 0x80);
  return Buffer.from([...bytes, n]);
}

/** As signed numbers are written: the last byte's second bit is the sign. */
function signed(n) {
  const bytes = [];
  for (; n > 0x3f; n = Math.floor(n / 128)) bytes.push((n % 128) | 0x80);
  return Buffer.from([...bytes, n]);
}
