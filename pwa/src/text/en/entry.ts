/** Entering numbers: plus and minus, the keys, and what was understood. */
export const entryWords = {
  unfinished: "Go on: digits are still missing.",
  unit: (typed: string, units: string) => `“${typed}” is not a unit of this value. Write it in ${units}.`,
  minus: (name: string) => `${name}: less`,
  plus: (name: string) => `${name}: more`,
  step: (text: string) => `Step ${text}`,
  noMinus: (why: string) => `No less: ${why}`,
  noPlus: (why: string) => `No more: ${why}`,
  keys: (name: string) => `Keys for ${name}`,
  unitOf: (name: string) => `${name}: unit`,
  decimal: (mark: string) => `decimal ${mark === "," ? "comma" : "point"}`,
  back: "delete the last digit",
  clear: "Clear",
  done: "Done",
} as const;
