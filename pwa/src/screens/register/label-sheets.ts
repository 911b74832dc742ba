/** Sheets of labels by their grid, and where each label lies on its page. Pure. All in millimetres. */

export interface LabelSheet { id: string; page: "a4" | "letter"; columns: number; rows: number; label_mm: readonly [number, number]; gap_mm: readonly [number, number] }

export const PAGES = { a4: [210, 297], letter: [215.9, 279.4] } as const;

/**
 * Grids of sheets that are sold for printers; the grid is centred on its page. Common sizes, from memory.
 * Smaller ones, as 4 x 20 of 44.5 x 12.7 mm, are not offered: a code with its quiet zone would have
 * modules below `LEAST_MODULE_MM` there, and the camera does not read them.
 */
export const SHEETS: readonly LabelSheet[] = [
  { id: "a4-2x7", page: "a4", columns: 2, rows: 7, label_mm: [99.1, 38.1], gap_mm: [2.5, 0] },
  { id: "a4-3x8", page: "a4", columns: 3, rows: 8, label_mm: [70, 37], gap_mm: [0, 0] },
  { id: "a4-5x13", page: "a4", columns: 5, rows: 13, label_mm: [38.1, 21.2], gap_mm: [2.5, 0] },
  { id: "letter-2x5", page: "letter", columns: 2, rows: 5, label_mm: [101.6, 50.8], gap_mm: [4.8, 0] },
  { id: "letter-3x10", page: "letter", columns: 3, rows: 10, label_mm: [66.7, 25.4], gap_mm: [3.2, 0] },
  { id: "letter-2x10", page: "letter", columns: 2, rows: 10, label_mm: [101.6, 25.4], gap_mm: [4.8, 0] },
];

/** Free room round the words and the code. */
export const EDGE_MM = 1.5;
/** The quiet zone on each side of a code, in modules (ISO/IEC 18004). */
export const QUIET = 4;
/** How small a module may be for a tablet's camera at a hand's length: a common rule of thumb, no source. */
export const LEAST_MODULE_MM = 0.4;

/** The side of a code with its quiet zone. */
export const codeSide = ({ label_mm: [width, height] }: LabelSheet): number => Math.min(height - 2 * EDGE_MM, width * 0.55, 34);

/** How large each of so many modules a side becomes. */
export const moduleMm = (sheet: LabelSheet, modules: number): number => codeSide(sheet) / (modules + 2 * QUIET);

export interface Cell { page: number; x_mm: number; y_mm: number }

export const perPage = ({ columns, rows }: LabelSheet): number => columns * rows;

/** Where the label with this number lies, counted from 0; the first `skip` places of the first page stay free. */
export function cellOf(sheet: LabelSheet, number: number, skip: number): Cell {
  const at = number + skip;
  const place = at % perPage(sheet);
  const [width, height] = PAGES[sheet.page];
  const step = (axis: 0 | 1) => sheet.label_mm[axis] + sheet.gap_mm[axis];
  const left = (width - sheet.columns * step(0) + sheet.gap_mm[0]) / 2;
  const top = (height - sheet.rows * step(1) + sheet.gap_mm[1]) / 2;
  return { page: Math.floor(at / perPage(sheet)), x_mm: left + (place % sheet.columns) * step(0), y_mm: top + Math.floor(place / sheet.columns) * step(1) };
}

/** The words beside a code in as many lines as there is room for; what is too long ends with an ellipsis. */
export function wrapped(text: string, letters: number, lines: number): string[] {
  const out: string[] = [];
  let rest = text.trim();
  while (rest && out.length < lines) {
    if (rest.length <= letters) { out.push(rest); rest = ""; break; }
    const blank = rest.lastIndexOf(" ", letters);
    const cut = blank > letters / 3 ? blank : letters;
    out.push(rest.slice(0, cut).trim());
    rest = rest.slice(cut).trim();
  }
  if (rest && out.length > 0) out[out.length - 1] = `${out.at(-1)!.slice(0, letters - 1).trimEnd()}…`;
  return out;
}
