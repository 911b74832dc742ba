/** Reads a code out of a picture: by the browser where it can, else by our own library. */

export type Source = HTMLVideoElement | HTMLCanvasElement;
interface Detector { detect: (source: CanvasImageSource) => Promise<{ rawValue: string }[]> }
interface DetectorClass { new (options: { formats: string[] }): Detector; getSupportedFormats?: () => Promise<string[]> }

/** A camera may give more than is needed: a code is found as well in a smaller picture, and much sooner. */
const LONGEST_PX = 960;

let detector: Promise<Detector | null> | null = null;
const ownDetector = (): Promise<Detector | null> => (detector ??= made());

async function made(): Promise<Detector | null> {
  const offered = (globalThis as { BarcodeDetector?: DetectorClass }).BarcodeDetector;
  if (!offered) return null;
  try {
    const formats = (await offered.getSupportedFormats?.()) ?? [];
    return formats.includes("qr_code") ? new offered({ formats: ["qr_code"] }) : null;
  } catch {
    return null;
  }
}

/** The text of a code in the picture; null where there is none to be read. */
export async function readFrame(source: Source, canvas: HTMLCanvasElement): Promise<string | null> {
  const [width, height] = source instanceof HTMLVideoElement ? [source.videoWidth, source.videoHeight] : [source.width, source.height];
  if (width === 0 || height === 0) return null;
  const browser = await ownDetector();
  if (browser) return (await browser.detect(source).catch(() => []))[0]?.rawValue ?? null;
  const scale = Math.min(1, LONGEST_PX / Math.max(width, height));
  canvas.width = Math.round(width * scale);
  canvas.height = Math.round(height * scale);
  const context = canvas.getContext("2d", { willReadFrequently: true });
  if (!context) return null;
  context.drawImage(source, 0, 0, canvas.width, canvas.height);
  return decodePixels(context.getImageData(0, 0, canvas.width, canvas.height));
}

export async function decodePixels(picture: { width: number; height: number; data: Uint8ClampedArray }): Promise<string | null> {
  const { default: decodeQR } = await import("qr/decode.js");
  try {
    return decodeQR(picture);
  } catch {
    // Its way of saying that there is none.
    return null;
  }
}
