import type { certificateWords as english } from "../en/certificates";
import type { Shape } from "../shape";

export const certificateWords: Shape<typeof english> = {
  title: "Certificados",
  label: "Certificados como archivos",
  hint: "PDF, PNG o fotografía, hasta 5 MB cada uno, diez como máximo. Puede abrirlos quien trabaja aquí y no se pueden borrar: nada de un paciente debe estar en ellos.",
  add: "Añadir archivos",
  one: (what, name) => `${what}: ${name}`,
  take: "Quitarlo",
  adding: "Se mira el archivo",
  sending: (n, of, name) => `Se envía el archivo ${n} de ${of}: ${name}`,
  notTaken: (name, why) => `${name}: ${why}`,
  tooMany: "Diez archivos como máximo en una entrada.",
  twice: "Este archivo ya está.",
  wrong: {
    certificate_empty: "Este archivo está vacío.",
    certificate_too_large: "Este archivo pasa de 5 MB.",
    certificate_unknown_kind: "No es un PDF, PNG ni JPEG, se llame como se llame.",
    certificate_damaged: "Este archivo está cortado o dañado. Pídalo de nuevo a quien lo dio.",
    certificate_gone: "Este archivo ya no está a mano. Elíjalo otra vez o quítelo.",
  },
  where: {
    tablet: "en esta tableta, irá solo al servidor", server: "en el servidor", to_come: "aún por llegar desde donde se añadió",
    refused: "el servidor no lo aceptó: añádalo otra vez",
  },
  cannotTell: "se puede abrir con conexión al servidor",
  save: "Guardar el archivo",
  show: "Mostrar",
  hide: "Cerrar",
  notThere: "El archivo aún no está en el servidor. Llega desde la tableta o el puesto donde se añadió.",
  noConnection: "No se llega al servidor. Inténtelo con conexión.",
  trouble: "No se pudo abrir el archivo.",
  unused: (n) => n === 1
    ? "1 archivo del servidor no lo nombra ninguna entrada: se envió y no se guardó aquello para lo que era. Se conserva."
    : `${n} archivos del servidor no los nombra ninguna entrada: se enviaron y no se guardó aquello para lo que eran. Se conservan.`,
};
