import type { entryWords as english } from "../en/entry";
import type { Shape } from "../shape";

export const entryWords: Shape<typeof english> = {
  unfinished: "Siga: aún faltan cifras.",
  unit: (typed, units) => `«${typed}» no es una unidad de este valor. Escríbalo en ${units}.`,
  minus: (name) => `${name}: menos`,
  plus: (name) => `${name}: más`,
  step: (text) => `Paso ${text}`,
  noMinus: (why) => `No menos: ${why}`,
  noPlus: (why) => `No más: ${why}`,
  keys: (name) => `Teclas para ${name}`,
  unitOf: (name) => `${name}: unidad`,
  decimal: (mark) => (mark === "," ? "coma decimal" : "punto decimal"),
  back: "borrar la última cifra",
  clear: "Borrar",
  done: "Listo",
};
