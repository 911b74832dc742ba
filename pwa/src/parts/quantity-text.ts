/** Quantities as people write them, in the language's own decimal mark. */
import { localNumbers } from "../text";

/** Units as people write them; data keeps the plain letters. */
export function unitText(unit: string): string {
  return unit.replace(/^u(?=[ms])/, "µ");
}

/** "400 us" as it is read: a number and its unit, never torn apart at the end of a line. */
export function quantityText(text: string): string {
  return unbroken(localNumbers(text.replace(/ u(?=[ms]\b)/, " µ")));
}

/** The same text with gaps at which no line ends. */
export function unbroken(text: string): string {
  return text.replace(/ /g, "\u00a0");
}
