// The worker that checks a bundle: the server's own code as WebAssembly reads the file
// where it lies, a piece at a time. It is asked {number, file, keys, against} and answers
// {number, report}, JSON text; on the way it says {number, read}. It says {ready} once its
// program is here, and {failed} where it cannot be started. Nothing is sent anywhere.
declare const self: DedicatedWorkerGlobalScope;
declare class Go {
  importObject: WebAssembly.Imports;
  run(instance: WebAssembly.Instance): Promise<void>;
}
declare function relevelVerify(
  read: (offset: number, length: number) => Uint8Array, size: number, keys: string, against: string[], tell: (bytes: number) => void,
): string;

interface Asked {
  number: number;
  file: File;
  keys: string;
  against: string[];
}

self.onmessage = (m: MessageEvent<Asked>) => {
  const { number, file, keys, against } = m.data;
  const reader = new FileReaderSync();
  let told = 0;
  const read = (offset: number, length: number) => new Uint8Array(reader.readAsArrayBuffer(file.slice(offset, offset + length)));
  const tell = (bytes: number) => {
    if (bytes - told < 1 << 22) return;
    told = bytes;
    self.postMessage({ number, read: bytes / file.size });
  };
  try {
    self.postMessage({ number, report: relevelVerify(read, file.size, keys, against, tell) });
  } catch (e) {
    self.postMessage({ number, report: JSON.stringify({ error: `the file cannot be read: ${e instanceof Error ? e.message : String(e)}` }) });
  }
};

async function start(): Promise<void> {
  self.importScripts("wasm_exec.js");
  const go = new Go();
  const { instance } = await WebAssembly.instantiateStreaming(fetch("verify.wasm"), go.importObject);
  void go.run(instance).then(() => self.postMessage({ failed: "the program ended" }));
  self.postMessage({ ready: true });
}

start().catch((e: unknown) => self.postMessage({ failed: e instanceof Error ? e.message : String(e) }));

export {};
