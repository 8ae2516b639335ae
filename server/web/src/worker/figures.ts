// The worker that reckons: it holds the fold and the arithmetic, the server's own
// code as WebAssembly. A request is {id, name, request}, its answer {id, answer},
// both JSON text within. It says {ready: true} once it can be asked, and
// {failed} where it cannot be started.
declare const self: DedicatedWorkerGlobalScope;
declare class Go {
  importObject: WebAssembly.Imports;
  run(instance: WebAssembly.Instance): Promise<void>;
}
declare function relevel(name: string, request: string): string;

interface Asked {
  id: number;
  name: string;
  request: string;
}

const waiting: Asked[] = [];
let started = false;

self.onmessage = (m: MessageEvent<Asked>) => {
  if (started) answer(m.data);
  else waiting.push(m.data);
};

function answer(a: Asked): void {
  self.postMessage({ id: a.id, answer: relevel(a.name, a.request) });
}

async function start(): Promise<void> {
  self.importScripts("wasm_exec.js");
  const go = new Go();
  const { instance } = await WebAssembly.instantiateStreaming(fetch("relevel.wasm"), go.importObject);
  void go.run(instance).then(() => self.postMessage({ failed: "the reckoning ended" }));
  started = true;
  self.postMessage({ ready: true });
  for (const a of waiting.splice(0)) answer(a);
}

start().catch((e: unknown) => self.postMessage({ failed: e instanceof Error ? e.message : String(e) }));

export {};
