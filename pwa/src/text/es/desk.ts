import type { deskWords as english } from "../en/desk";
import type { Shape } from "../shape";

export const deskWords: Shape<typeof english> = {
  title: "Cola para la historia",
  lead: "Registros firmados que aún no están en la historia clínica; el más antiguo, primero.",
  count: (n) => (n === 1 ? "1 registro espera." : `${n} registros esperan.`),
  forRow: (what, whose) => `${what}: ${whose}`,
  empty: "Todos los registros firmados están en la historia clínica.",
  records: "Registros",
  signOut: "Cerrar sesión",
  waiting: (since) => `espera desde ${since}`,
  openPdf: "Abrir el PDF",
  copyText: "Copiar el texto",
  copied: "Copiado. Péguelo en la historia clínica.",
  copyFailed: "El navegador no dejó copiar el texto. Está abajo: selecciónelo y cópielo.",
  place: "Está en la historia",
  placed: (how) => `Marcado como incorporado (${how}).`,
  how: "Cómo llegó a la historia",
  hows: { pdf: "Como PDF", text: "Como texto", other: "De otra manera" },
  notRendered: "El PDF aún se está haciendo. Inténtelo de nuevo en un momento.",
  failed: (detail) => `No ha sido posible. ${detail}`,
  refresh: "Mirar otra vez",
  search: "Buscar",
  noRecords: "Ningún registro coincide.",
  textTitle: "Texto para la historia",
  readOnly: "En un puesto de oficina los registros son de solo lectura.",
  notAllowed: "Su función no incluye esto.",
};
