/** The modules of a code as one path of a drawing. */
import encodeQR from "qr";

export interface CodePath { modules: number; path: string }

/** Error correction M: 15 % of it may be scratched or dirty (ISO/IEC 18004). */
export function codePath(text: string): CodePath {
  const rows = codeModules(text);
  const path = rows.map((row, y) => row.map((dark, x) => (dark ? `M${x} ${y}h1v1h-1z` : "")).join("")).join("");
  return { modules: rows.length, path };
}

/** Dark modules as true, without the quiet zone, of which the library draws at least one module. */
export function codeModules(text: string): boolean[][] {
  const rows = encodeQR(text, "raw", { ecc: "medium", border: 1 });
  return rows.slice(1, -1).map((row) => row.slice(1, -1));
}
