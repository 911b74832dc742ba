import type { accessLogWords as english } from "../en/accessLog";
import type { Shape } from "../shape";

export const accessLogWords: Shape<typeof english> = {
  title: "Registro de accesos",
  lead: "Quién leyó, cambió o exportó qué, o a quién se le negó, cuándo y dónde. Solo se le puede añadir, y consultarlo también queda anotado.",
  person: "Quién lo hizo",
  everybody: "Todas las personas",
  action: "Qué se hizo",
  everything: "Todo",
  groups: {
    read: "Leído o listado", create: "Creado", change: "Cambiado", export: "Impreso, exportado o entregado", sign_in: "Entradas y salidas", refused: "Denegado",
  },
  from: "Desde el día",
  to: "Hasta el día",
  chart: "Número de historia",
  chartHint: "Todo sobre los registros que están bajo él y sobre los que se trasladaron desde él.",
  oneRecord: "Solo lo que trata de un registro.",
  look: "Buscar",
  clear: "Mostrar todo",
  export: "Guardar como archivo (CSV)",
  exportHint: "El archivo contiene lo que eligen los campos de arriba, 50 000 filas como máximo. Guardarlo queda anotado.",
  tooMany: "Son más de 50 000 filas. Elija menos días.",
  none: "No se anotó nada de esa clase.",
  shown: (n) => (n === 1 ? "1 anotación, no hay más." : `${n} anotaciones, no hay más.`),
  shownMore: (n) => `${n} anotaciones, y hay más anteriores.`,
  nobody: "Nadie había entrado",
  atDesk: "en un puesto de oficina o en el servidor",
  id: (end) => `…${end}`,
  recordOnly: "Solo este registro",
  recordOnlyFor: (which) => `Solo este registro: ${which}`,
  actions: {
    read: "Leído", list: "Listado", pull: "Enviado a una tableta", create: "Creado", add: "Añadido", change: "Cambiado", export: "Exportado",
    export_pdf: "PDF abierto o impreso", export_text: "Texto tomado", release: "Entregado a alguien", sign_in: "Entrada", sign_out: "Salida",
    leave_location: "Pasó a otro centro", enter_location: "Vino de otro centro",
    end_session: "Sesión terminada", make_link: "Enlace creado", use_link: "Enlace usado", refused: "Denegado",
  },
  kinds: {
    record: "registro", person: "persona", tablet: "tableta", device: "láser", handpiece: "pieza de mano", preset: "preajuste", list: "lista", room: "sala",
    verification: "comprobación de potencia", procedure_kind: "tipo de intervención", location: "centro", enrolment_code: "código de un solo uso para una tableta",
    access_log: "registro de accesos", attachment: "fotografía", aside: "lo apartado",
  },
  details: {
    events: "entradas", types: "clases de entrada", records: "registros", to: "a", reason: "motivo", version: "versión", right: "permiso que faltaba",
    route: "se pidió", because: "porque", photograph: "fotografía (huella)", rows: "filas", format: "formato", presets: "preajustes",
    person_id: "se buscó una persona", record_id: "se buscó un registro", chart_number: "se buscó un número de historia", action: "se buscó", from_: "desde", wrong: "incorrecto", secret: "secreto",
    outcome: "resultado", quarantine: "lo apartado", usage: "ajustes usados antes", by: "por",
  },
};
