// bare(wasm) is the same program without what Go keeps for the listing of a stack alone:
// files and lines, arguments, and where a goroutine may not be stopped in the middle, which
// WebAssembly never does. Functions keep their names, so that a listing still says where it
// was; files and lines are "?:0" in it, as Go writes for what it does not know. What was
// there becomes zeros, which a packed file says for nothing.
//
// The tables are those of runtime/symtab.go and runtime2.go: a header, names, units, files,
// pcdata, and functions. Another layout than the one known here is an error.
"use strict";
const { withData } = require("./module.cjs");

/** The header's beginning: its magic number since Go 1.20, two zeros, instructions of one
 *  byte and addresses of eight. */
const magic = Buffer.from([0xf1, 0xff, 0xff, 0xff, 0, 0, 1, 8]);

/** Where the header says how many functions there are and how far from it tables begin. */
const header = { functions: 8, names: 32, units: 40, files: 48, pcdata: 56, entries: 64 };

/** Of a function: the tables of its frame's size, files and lines, how many others it has,
 *  its unit, its first line, and how many pointers to data follow those tables. */
const func = { size: 16, file: 20, line: 24, tables: 28, unit: 32, start: 36, pointers: 43, end: 44 };

/** Tables and pointers by their place (internal/abi/symtab.go; TestBarePlaces looks there). */
const places = { PCDATA_UnsafePoint: 0, PCDATA_ArgLiveIndex: 3, FUNCDATA_ArgInfo: 5, FUNCDATA_ArgLiveInfo: 6 };
const none = 0xffffffff; // a pointer to nothing; a table that is not there is 0

exports.places = places;

exports.bare = (wasm) => withData(wasm, (list) => {
  const memory = Buffer.alloc(list.reduce((end, { address, data }) => Math.max(end, address + data.length), 0));
  for (const { address, data } of list) data.copy(memory, address);
  strip(memory);
  return list.map(({ address, data }) => ({ address, data: memory.subarray(address, address + data.length) }));
});

function unknown(what) {
  return new Error(`${what}: is this another version of Go?`);
}

/** Strips the tables that lie somewhere in memory. */
function strip(memory) {
  const at = memory.indexOf(magic);
  if (at < 0 || memory.indexOf(magic, at + 1) >= 0) throw unknown("there is not one header of the tables of functions");
  const begin = (table) => at + Number(memory.readBigUInt64LE(at + header[table]));
  const inOrder = ["names", "units", "files", "pcdata", "entries"].map(begin);
  if (inOrder.some((table, i) => table <= (inOrder[i - 1] ?? at))) throw unknown("the tables of functions are in another order");
  const functions = listed(memory, begin("entries"), Number(memory.readBigUInt64LE(at + header.functions)));
  const was = new Set(functions.flatMap((f) => tables(memory, f)));
  for (const f of functions) forget(memory, f);
  const kept = new Set(functions.flatMap((f) => tables(memory, f)));
  blank(memory.subarray(begin("pcdata"), begin("entries")), was, kept);
  memory.fill(0, begin("units"), begin("pcdata")); // units and files
}

/** Where each function's record lies: each entry is where it begins in the program, one
 *  after the other, and how far its record is. */
function listed(memory, entries, count) {
  const functions = [];
  for (let i = 0; i < count; i++) {
    const f = entries + memory.readUInt32LE(entries + 8 * i + 4);
    const known = memory.readUInt32LE(f) === memory.readUInt32LE(entries + 8 * i) && memory[f + func.pointers] <= 8 && memory.readUInt32LE(f + func.tables) <= 8;
    if (!known) throw unknown(`function ${i} is not written as known`);
    functions.push(f);
  }
  return functions;
}

/** Where among pcdata the tables of a function begin. */
function tables(memory, f) {
  const list = [func.size, func.file, func.line].map((o) => memory.readUInt32LE(f + o));
  for (let i = 0; i < memory.readUInt32LE(f + func.tables); i++) list.push(memory.readUInt32LE(f + func.end + 4 * i));
  return list;
}

function forget(memory, f) {
  for (const o of [func.file, func.line, func.unit, func.start]) memory.writeUInt32LE(0, f + o);
  const count = memory.readUInt32LE(f + func.tables);
  for (const i of [places.PCDATA_UnsafePoint, places.PCDATA_ArgLiveIndex]) if (i < count) memory.writeUInt32LE(0, f + func.end + 4 * i);
  for (const i of [places.FUNCDATA_ArgInfo, places.FUNCDATA_ArgLiveInfo]) if (i < memory[f + func.pointers]) memory.writeUInt32LE(none, f + func.end + 4 * (count + i));
}

/** Writes zeros over the tables that were used and are not any more, each up to the next. */
function blank(pcdata, was, kept) {
  const begins = [...was].filter((table) => table > 0).sort((a, b) => a - b);
  begins.forEach((table, i) => {
    if (!kept.has(table)) pcdata.fill(0, table, begins[i + 1] ?? pcdata.length);
  });
}
