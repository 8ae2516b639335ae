// Reading a code from another screen, in the app itself.
import { useEffect, useRef, useState } from "preact/hooks";
import { Act } from "./act.tsx";
import { useLens } from "./lens.ts";
import "./finder.css";

const everyMS = 200;

export function Scan(p: { label: string; found: (text: string) => unknown }) {
  const [on, setOn] = useState(false);
  if (!on) return <Act do={() => setOn(true)}>{p.label}</Act>;
  return <Looking {...p} end={() => setOn(false)} />;
}

function Looking(p: { found: (text: string) => unknown; end: () => void }) {
  const video = useRef<HTMLVideoElement>(null);
  const lens = useLens(video);
  const [broken, setBroken] = useState(false);
  useEffect(() => {
    if (!lens.track) return;
    let left = false;
    const look = async () => {
      const read = await reader();
      while (!left) {
        const text = await read(video.current!).catch(() => undefined); // most frames hold no code
        if (left) return;
        if (text) {
          p.end();
          return void p.found(text);
        }
        await new Promise((done) => setTimeout(done, everyMS));
      }
    };
    look().catch(() => left || setBroken(true));
    return () => {
      left = true;
    };
  }, [lens.track]);
  return (
    <div class="finder" role="dialog" aria-label="Scanning">
      <div class="sight"><video ref={video} autoplay muted playsInline /></div>
      {lens.refused ? <p class="danger" role="alert">There is no camera that this app may use. Go back, and type instead.</p>
        : broken ? <p class="danger" role="alert">Codes cannot be read here. Go back, and type instead.</p> : <p>Hold the code into the picture.</p>}
      <Act do={p.end}>Back</Act>
    </div>
  );
}

interface Detector {
  detect(of: HTMLVideoElement): Promise<{ rawValue: string }[]>;
}

declare const BarcodeDetector: { new (options: { formats: string[] }): Detector; getSupportedFormats(): Promise<string[]> } | undefined;

/** The browser's own reader where it has one, else ours, which is loaded only then. */
async function reader(): Promise<(of: HTMLVideoElement) => Promise<string | undefined>> {
  if (typeof BarcodeDetector !== "undefined" && (await BarcodeDetector.getSupportedFormats()).includes("qr_code")) {
    const own = new BarcodeDetector({ formats: ["qr_code"] });
    return async (video) => (await own.detect(video))[0]?.rawValue;
  }
  const { default: decode } = await import("qr/decode.js");
  const sheet = document.createElement("canvas");
  const pen = sheet.getContext("2d", { willReadFrequently: true })!;
  return async (video) => {
    sheet.width = video.videoWidth;
    sheet.height = video.videoHeight;
    if (sheet.width === 0) return undefined;
    pen.drawImage(video, 0, 0);
    return decode(pen.getImageData(0, 0, sheet.width, sheet.height));
  };
}
