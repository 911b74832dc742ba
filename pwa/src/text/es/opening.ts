import type { openingWords as english } from "../en/opening";
import type { Shape } from "../shape";

export const openingWords: Shape<typeof english> = {
  use: (n) => `uso ${n}`,
  useOf: (n, limit) => `uso ${n} de ${limit} como máximo`,
  overLimit: (label, n, limit) =>
    `${label}: este sería el uso ${n} y el registro permite ${limit}. Tome otra, o diga por qué esta.`,
  against: {
    credential_missing: (name, thing) => `No consta ${thing} de ${name}.`,
    credential_expired: (name, thing, date) => `Terminó el ${date}: ${thing} de ${name}.`,
    outside_scope_device: (name) => `Este láser queda fuera de lo que ${name} puede usar aquí.`,
    outside_scope_procedure: (name) => `Este tipo de intervención queda fuera de lo que ${name} puede hacer aquí.`,
  },
  credentials: { licence: "licencia", course: "curso de láser", hands_on: "prácticas", device_training: "formación en este láser" },
  goOn: "El caso puede seguir; diga por qué.",
  whyOperator: "Por qué se sigue con quien opera",
  licenceGood: (credential, date) => (credential ? `${credential}, licencia válida hasta el ${date}` : `Licencia válida hasta el ${date}`),
  why: "Motivo",
  reasonFor: (what, why) => `${what} Motivo dado: ${why}`,
  tooth: "Diente",
  quadrant: "Cuadrante",
  noQuadrant: "no consta",
  quadrants: { upperRight: "superior derecho", upperLeft: "superior izquierdo", lowerLeft: "inferior izquierdo", lowerRight: "inferior derecho" },
  toothText: (tooth) => `diente ${tooth}`,
  siteHint: "Palabras, o un diente o cuadrante abajo.",
  more: "Personas, consentimiento, anestesia y más",
  moreKept: (what) => `Tomado de su último caso de hoy: ${what}`,
  assistants: "Auxiliares",
  assisting: (who) => `Asiste: ${who}`,
  others: "Quién más está en el gabinete",
  othersHint: "Sin nombres de pacientes ni familiares, por ejemplo «un progenitor».",
  consentBy: "El consentimiento lo obtuvo",
  consentAt: "Consentimiento obtenido a las (vacío: ahora)",
  supervisingHint: "Donde opera un higienista.",
};
