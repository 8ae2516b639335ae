// Listening through the phone's microphone.

const mostSeconds = 60; // a note
const mostBytes = 1 << 20; // of a sound, at the server
const bitsPerSecond = 32_000; // a minute is a quarter of what it takes

/** What the server takes; the first that a browser can make is made. */
const kinds = ["audio/webm;codecs=opus", "audio/mp4"];

/** The microphone may not be used. */
export class Refused extends Error {
  override name = "Refused";
}

export interface Listening {
  stop(): void;
  said: Promise<{ data: ArrayBuffer; media: string }>; // rejects with why there is nothing to keep
}

/** Listens until it is stopped or the time is up, and tells how many seconds are left. */
export async function listen(left: (seconds: number) => void): Promise<Listening> {
  const kind = kinds.find((k) => MediaRecorder.isTypeSupported(k));
  if (!kind) throw new Error("this browser makes no sound that the office takes");
  const stream = await navigator.mediaDevices.getUserMedia({ audio: true }).catch(() => {
    throw new Refused();
  });
  const recorder = new MediaRecorder(stream, { mimeType: kind, audioBitsPerSecond: bitsPerSecond });
  const said = collect(recorder).finally(() => {
    clearInterval(ticking);
    for (const t of stream.getTracks()) t.stop();
  });
  const stop = () => recorder.state === "inactive" || recorder.stop();
  const until = performance.now() + mostSeconds * 1000;
  const tick = () => {
    const seconds = Math.ceil((until - performance.now()) / 1000);
    if (seconds <= 0) stop();
    else left(seconds);
  };
  const ticking = setInterval(tick, 250);
  recorder.start();
  tick();
  return { stop, said };
}

async function collect(recorder: MediaRecorder): Promise<{ data: ArrayBuffer; media: string }> {
  const parts: Blob[] = [];
  recorder.ondataavailable = (e) => parts.push(e.data);
  // A telephone call ends it, too: what was said until then is kept.
  await new Promise((done) => (recorder.onstop = done));
  const data = await new Blob(parts).arrayBuffer();
  if (data.byteLength === 0) throw new Error("nothing was heard");
  if (data.byteLength > mostBytes) throw new Error("it is too long to keep, say it in two notes");
  return { data, media: recorder.mimeType.split(";", 1)[0]! };
}
