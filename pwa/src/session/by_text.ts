/** Compare by code points of ASCII text, as Python does; never by the reader's language. */
export const byText = (a: string, b: string): number => (a < b ? -1 : a > b ? 1 : 0);
