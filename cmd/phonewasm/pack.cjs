// node pack.cjs FILE takes out of FILE what only the listing of a stack needs, joins its
// data, writes FILE.br, as it is served, and prints how large both are.
"use strict";
const { readFileSync, writeFileSync } = require("node:fs");
const { brotliCompressSync, constants } = require("node:zlib");
const { bare } = require("./bare.cjs");
const { join } = require("./join.cjs");

const [file] = process.argv.slice(2);
const raw = join(bare(readFileSync(file)));
writeFileSync(file, raw);
const packed = brotliCompressSync(raw, {
  params: {
    [constants.BROTLI_PARAM_QUALITY]: constants.BROTLI_MAX_QUALITY,
    [constants.BROTLI_PARAM_LGWIN]: constants.BROTLI_MAX_WINDOW_BITS,
    [constants.BROTLI_PARAM_SIZE_HINT]: raw.length,
  },
});
writeFileSync(`${file}.br`, packed);
console.log(`${file}: ${raw.length} bytes, ${packed.length} with brotli`);
