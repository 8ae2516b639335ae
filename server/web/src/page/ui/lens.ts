// The phone's camera in a page: on while a screen looks through it, and off with it.
import type { RefObject } from "preact";
import { useEffect, useState } from "preact/hooks";

export interface Lens {
  track?: MediaStreamTrack; // once there is a picture
  refused: boolean; // there is no camera, or this app may not use it
}

/** Shows the camera at the back in a video. */
export function useLens(video: RefObject<HTMLVideoElement | null>, wanted: MediaTrackConstraints = {}): Lens {
  const [lens, set] = useState<Lens>({ refused: false });
  useEffect(() => {
    let left = false;
    let stream: MediaStream | undefined;
    const look = async () => {
      stream = await navigator.mediaDevices.getUserMedia({ video: { facingMode: "environment", ...wanted } });
      if (left) return stop(stream); // the question was answered too late
      await show(video.current!, stream);
      set({ track: stream.getVideoTracks()[0]!, refused: false });
    };
    look().catch(() => left || set({ refused: true }));
    return () => {
      left = true;
      if (stream) stop(stream);
    };
  }, []);
  return lens;
}

function show(video: HTMLVideoElement, stream: MediaStream): Promise<void> {
  return new Promise((done, failed) => {
    video.onloadeddata = () => done();
    video.onerror = () => failed(new Error("the camera gives no picture"));
    video.srcObject = stream;
  });
}

function stop(stream: MediaStream): void {
  for (const track of stream.getTracks()) track.stop();
}
