/** A picture made anew: smaller, as JPEG, and with nothing in it but what is to be seen. */

import type { Bytes } from "../events/surroundings";

export const LONGEST_SIDE_PX = 2048;
const QUALITIES = [0.85, 0.7, 0.5];
const LIMIT_BYTES = 4 * 1024 * 1024;

export interface Picture { bytes: Bytes; width_px: number; height_px: number }

export class PictureError extends Error {
  constructor(readonly code: "picture_unreadable" | "picture_too_large", message: string) { super(message); }
}

/** The size in which a picture is kept: its longest side at most so long, never larger than it was. */
export function fitted(width_px: number, height_px: number, longest_px = LONGEST_SIDE_PX): { width_px: number; height_px: number } {
  const by = Math.min(1, longest_px / Math.max(width_px, height_px));
  return { width_px: Math.max(1, Math.round(width_px * by)), height_px: Math.max(1, Math.round(height_px * by)) };
}

/**
 * Draw a file on a canvas and take the canvas as JPEG. What cameras write beside the picture (where,
 * when, with what) does not pass a canvas; the way it was held is applied to the picture itself.
 */
export async function drawAnew(file: Blob): Promise<Picture> {
  const seen = await createImageBitmap(file, { imageOrientation: "from-image" }).catch((cause: unknown) => {
    throw Object.assign(new PictureError("picture_unreadable", "This file is not a picture that can be read here."), { cause });
  });
  const { width_px, height_px } = fitted(seen.width, seen.height);
  const canvas = new OffscreenCanvas(width_px, height_px);
  const pen = canvas.getContext("2d", { alpha: false });
  if (!pen) throw new PictureError("picture_unreadable", "This tablet cannot draw the picture.");
  pen.fillStyle = "#ffffff";
  pen.fillRect(0, 0, width_px, height_px);
  pen.imageSmoothingQuality = "high";
  pen.drawImage(seen, 0, 0, width_px, height_px);
  seen.close();
  for (const quality of QUALITIES) {
    const made = await canvas.convertToBlob({ type: "image/jpeg", quality });
    if (made.type === "image/jpeg" && made.size <= LIMIT_BYTES) {
      return { bytes: new Uint8Array(await made.arrayBuffer()), width_px, height_px };
    }
  }
  throw new PictureError("picture_too_large", "This picture stays larger than 4 MiB.");
}
