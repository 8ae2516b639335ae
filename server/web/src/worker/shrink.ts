// The worker that makes the copy of a photo that is sent: upright, at most 2048 px
// along its long edge, a JPEG without anything the camera wrote into the file.
declare const self: DedicatedWorkerGlobalScope;

interface Asked {
  id: number;
  media: string;
  data: ArrayBuffer;
}

const longEdge = 2048;
const quality = 0.8;

self.onmessage = async (m: MessageEvent<Asked>) => {
  try {
    const data = await shrink(m.data);
    self.postMessage({ id: m.data.id, data }, [data]);
  } catch (e) {
    self.postMessage({ id: m.data.id, failed: e instanceof Error ? e.message : String(e) });
  }
};

async function shrink(a: Asked): Promise<ArrayBuffer> {
  const picture = await createImageBitmap(new Blob([a.data], { type: a.media }), { imageOrientation: "from-image" });
  const scale = Math.min(1, longEdge / Math.max(picture.width, picture.height));
  const sheet = new OffscreenCanvas(Math.max(1, Math.round(picture.width * scale)), Math.max(1, Math.round(picture.height * scale)));
  const pen = sheet.getContext("2d", { alpha: false });
  if (!pen) throw new Error("no canvas");
  pen.imageSmoothingQuality = "high";
  pen.drawImage(picture, 0, 0, sheet.width, sheet.height);
  picture.close();
  const copy = await sheet.convertToBlob({ type: "image/jpeg", quality });
  return copy.arrayBuffer();
}

export {};
