/** A table as comma-separated values (RFC 4180), for spreadsheets that would take some texts for formulas. Pure. */

/** What a spreadsheet may run when a cell begins with it; also behind blanks. */
const RUNS = /^\s*[=+\-@\t\r\uff1d\uff0b\uff0d\uff20]/;

export function csv(rows: readonly (readonly (string | number | null)[])[]): string {
  // The mark in front says UTF-8 to programs that would else guess.
  return `\ufeff${rows.map((row) => row.map(cell).join(",")).join("\r\n")}\r\n`;
}

function cell(value: string | number | null): string {
  const text = value === null ? "" : String(value);
  // A quote in front is what spreadsheets themselves write for "this is text".
  const safe = typeof value === "string" && RUNS.test(text) ? `'${text}` : text;
  return /[",\r\n]/.test(safe) ? `"${safe.replace(/"/g, '""')}"` : safe;
}
