/** What a chosen file is and how it may be called: looked at before anything is sent. Pure. */
import type { Bytes } from "../events/surroundings";

/** As the server has it: `api/registers/certificates.py`. */
export const LIMIT_BYTES = 5 * 1024 * 1024;
/** In one entry. */
export const MOST_PAPERS = 10;
/** What a camera makes may be larger: a picture is drawn anew. Beyond this nothing is read. */
export const READ_AT_MOST_BYTES = 40 * 1024 * 1024;
const LONGEST_NAME = 120;

export type PaperType = "application/pdf" | "image/jpeg" | "image/png";
const ENDINGS: Readonly<Record<PaperType, readonly string[]>> = {
  "application/pdf": [".pdf"], "image/jpeg": [".jpg", ".jpeg"], "image/png": [".png"],
};
const BEGINNINGS: readonly (readonly [PaperType, readonly number[]])[] = [
  ["application/pdf", [0x25, 0x50, 0x44, 0x46, 0x2d]],
  ["image/jpeg", [0xff, 0xd8]],
  ["image/png", [0x89, 0x50, 0x4e, 0x47, 0x0d, 0x0a, 0x1a, 0x0a]],
];

/** What a file is by its first bytes, whatever it is called; null: nothing that is kept. */
export function typeOf(bytes: Uint8Array): PaperType | null {
  return BEGINNINGS.find(([, begins]) => begins.every((byte, at) => bytes[at] === byte))?.[0] ?? null;
}

/** Whether it also ends as what it is: one that was broken off on its way here does not. The server looks at all of it. */
export function endsAs(type: PaperType, bytes: Bytes): boolean {
  const end = Array.from(bytes.subarray(-1024), (byte) => String.fromCharCode(byte)).join("");
  if (type === "application/pdf") return /startxref\s+\d+\s+%%EOF[\s\0]*$/.test(end);
  if (type === "image/png") return end.endsWith("IEND\xae\x42\x60\x82");
  return end.endsWith("\xff\xd9");
}

/** A name as it may stand in an entry: no folders, nothing that is not seen, on one line, not too long. */
export function cleanName(name: string, type: PaperType): string {
  const last = name.split(/[/\\]/).at(-1) ?? "";
  const plain = last.replace(/\p{C}/gu, "").replace(/\s+/gu, " ").trim();
  const dot = plain.lastIndexOf(".");
  const stem = (dot >= 0 ? plain.slice(0, dot) : plain).replace(/[. ]+$/u, "").replace(/^\.+/u, "");
  const ending = dot >= 0 ? plain.slice(dot) : "";
  const fitting = ENDINGS[type].includes(ending.toLowerCase()) ? ending : ENDINGS[type][0]!;
  // By signs, so that none is cut in two.
  const room = LONGEST_NAME - fitting.length;
  const kept: string[] = [];
  let length = 0;
  for (const sign of stem) {
    if (length + sign.length > room) break;
    length += sign.length;
    kept.push(sign);
  }
  return `${kept.join("").trim() || "certificate"}${fitting}`;
}
