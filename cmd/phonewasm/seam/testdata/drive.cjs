// node drive.cjs WASM_EXEC WASM < requests > answers
// A line of requests is [name, request]; a line of answers is [answer, microseconds].
"use strict";
const { readFileSync, writeSync } = require("node:fs");
const [runtime, wasm] = process.argv.slice(2);
require(runtime); // defines Go

function write(text) {
  const bytes = Buffer.from(text);
  for (let at = 0; at < bytes.length; ) at += writeSync(1, bytes, at);
}

async function main() {
  const lines = readFileSync(0, "utf8").trim().split("\n");
  const go = new Go();
  const { instance } = await WebAssembly.instantiate(readFileSync(wasm), go.importObject);
  go.run(instance);
  const answers = lines.map((line) => {
    const [name, request] = JSON.parse(line);
    const start = process.hrtime.bigint();
    const answer = relevel(name, request);
    return JSON.stringify([answer, Number(process.hrtime.bigint() - start) / 1000]);
  });
  write(answers.join("\n") + "\n");
  process.exit(0);
}
main();
