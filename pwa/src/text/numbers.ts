/** Numbers as the language writes them. What a number is was decided before: only its mark changes. */
import { locale } from "./language";

const marks = new Map<string, string>();

/** The decimal mark of the language shown. */
export function decimalMark(): string {
  const tag = locale();
  let mark = marks.get(tag);
  if (mark === undefined) {
    mark = new Intl.NumberFormat(tag).formatToParts(1.5).find(({ type }) => type === "decimal")?.value ?? ".";
    marks.set(tag, mark);
  }
  return mark;
}

/** "1.5 W" with the decimal mark of the language; nothing else is touched. */
export function localNumbers(text: string): string {
  const mark = decimalMark();
  return mark === "." ? text : text.replace(/(\d)\.(?=\d)/g, `$1${mark}`);
}
