// One picture of the camera in a page, as large as it can be had.

interface Taking {
  takePhoto(): Promise<Blob>;
}

declare const ImageCapture: { new (track: MediaStreamTrack): Taking } | undefined;

// Some phones never answer while they focus.
const longestMS = 5000;

/** What the sensor gives where the browser can ask it, else the frame that is shown. */
export async function still(track: MediaStreamTrack, video: HTMLVideoElement): Promise<Blob> {
  return (await ofSensor(track).catch(() => undefined)) ?? shown(video);
}

async function ofSensor(track: MediaStreamTrack): Promise<Blob | undefined> {
  if (typeof ImageCapture === "undefined") return undefined;
  const late = new Promise<undefined>((done) => setTimeout(done, longestMS, undefined));
  const photo = await Promise.race([new ImageCapture(track).takePhoto(), late]);
  return photo && photo.size > 0 ? photo : undefined;
}

function shown(video: HTMLVideoElement): Promise<Blob> {
  const sheet = document.createElement("canvas");
  sheet.width = video.videoWidth;
  sheet.height = video.videoHeight;
  sheet.getContext("2d")!.drawImage(video, 0, 0);
  return new Promise((done, failed) => sheet.toBlob((b) => (b ? done(b) : failed(new Error("the camera gave no picture"))), "image/jpeg", 0.92));
}
