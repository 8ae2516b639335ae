// node build.mjs bundles the phone app into dist/phone, beside the WebAssembly
// that `make phonewasm` leaves there, and the office's scripts into dist/office;
// with --office FOLDER it bundles those alone into a folder, with --tests the tests
// of what needs no browser into dist/test.
import { createHash } from "node:crypto";
import { cp, mkdir, readFile, readdir, rm, writeFile } from "node:fs/promises";
import path from "node:path";
import { fileURLToPath } from "node:url";
import { brotliCompressSync, constants } from "node:zlib";
import { build } from "esbuild";

const here = path.dirname(fileURLToPath(import.meta.url));
const src = (...name) => path.join(here, "src", ...name);
const out = path.join(here, "dist", "phone");

// Safari 16.4 is the first that installs with push, OffscreenCanvas and
// WebAssembly as they are needed here.
const common = {
  bundle: true, format: "esm", target: ["es2022", "safari16.4", "chrome109"], minify: true, legalComments: "none",
  logLevel: "warning", charset: "utf8",
};

// Made by us and gone with the next build; the WebAssembly beside them is not ours.
const made = /\.(js|css|html|png|webmanifest)(\.br)?$/;

const alone = process.argv.indexOf("--office");
if (process.argv.includes("--tests")) await bundleTests();
else if (alone > 0) await bundleOffice(process.argv[alone + 1]);
else {
  await bundlePhone();
  await bundleVerify();
  const office = path.join(here, "dist", "office");
  await rm(office, { recursive: true, force: true }); // names change with what is in them
  await bundleOffice(office);
}

async function bundleTests() {
  const tests = path.join(here, "dist", "test");
  await rm(tests, { recursive: true, force: true });
  const names = (await readdir(src("test"))).filter((n) => n.endsWith(".test.ts") || ["simulation.ts", "bodies.ts"].includes(n));
  await build({ ...common, minify: false, platform: "node", target: "node18", packages: "external", sourcemap: "inline",
    entryPoints: names.map((n) => src("test", n)), outdir: tests });
}

async function bundlePhone() {
  await mkdir(out, { recursive: true });
  for (const name of await readdir(out)) {
    if (made.test(name) && !name.startsWith("wasm_exec.js")) await rm(path.join(out, name));
  }
  await build({ ...common, entryPoints: { app: src("page", "main.tsx") }, outdir: out, splitting: true, chunkNames: "part-[name]-[hash]", jsx: "automatic", jsxImportSource: "preact",
    loader: { ".svg": "dataurl" } });
  await build({ ...common, entryPoints: { shrink: src("worker", "shrink.ts") }, outdir: out });
  // A classic worker: it takes in wasm_exec.js, which is no module.
  await build({ ...common, format: "iife", entryPoints: { figures: src("worker", "figures.ts") }, outdir: out });
  await cp(src("files"), out, { recursive: true });
  await bundleServiceWorker();
  for (const name of await readdir(out)) if (/\.(js|css|html|webmanifest)$/.test(name)) await pack(path.join(out, name));
}

// The worker that checks bundles, beside the WebAssembly that `make verifywasm`
// leaves there.
async function bundleVerify() {
  const to = path.join(here, "dist", "verify");
  await build({ ...common, format: "iife", entryPoints: { worker: src("worker", "verify.ts") }, outdir: to });
  for (const name of await readdir(to)) if (name.endsWith(".js")) await pack(path.join(to, name));
}

// Each entry of the office is named by its content, so that a browser may keep it
// for ever.
async function bundleOffice(to) {
  await build({ ...common, entryPoints: { plan: src("office", "plan", "main.tsx"), verify: src("office", "verify", "main.ts") }, entryNames: "[name]-[hash]", outdir: to,
    splitting: true, chunkNames: "part-[name]-[hash]", jsx: "automatic", jsxImportSource: "preact" });
  for (const name of await readdir(to)) await pack(path.join(to, name));
}

// The service worker knows every file of the app, and a version that changes
// with any of them: the release, and behind it a digest.
async function bundleServiceWorker() {
  const names = (await readdir(out)).filter((n) => !n.endsWith(".br") && !n.startsWith(".")).sort();
  for (const needed of ["relevel.wasm", "wasm_exec.js"]) {
    if (!names.includes(needed)) throw new Error(`${needed} is missing: run "make phonewasm" first`);
  }
  const hash = createHash("sha256");
  for (const name of names) hash.update(name).update(await readFile(path.join(out, name)));
  await build({ ...common, format: "iife", entryPoints: { sw: src("sw", "sw.ts") }, outdir: out,
    define: { FILES: JSON.stringify(names), VERSION: JSON.stringify(`${await release()}+${hash.digest("hex").slice(0, 12)}`) } });
}

// The release stands once, where the program has it.
async function release() {
  const found = /^const release = "(.+)"$/m.exec(await readFile(path.join(here, "..", "..", "cmd", "relevel", "version.go"), "utf8"));
  if (!found) throw new Error("cmd/relevel/version.go names no release");
  return found[1];
}

async function pack(file) {
  const raw = await readFile(file);
  await writeFile(`${file}.br`, brotliCompressSync(raw, { params: { [constants.BROTLI_PARAM_QUALITY]: 11, [constants.BROTLI_PARAM_SIZE_HINT]: raw.length } }));
}
