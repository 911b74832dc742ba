import type { commonWords as english } from "../en/common";
import type { Shape } from "../shape";

export const commonWords: Shape<typeof english> = {
  app: "Dosebook",
  caution:
    "Solo ayuda a decidir: deciden las instrucciones del fabricante, la ley local y el profesional autorizado. Dosebook informa y registra. No puede controlar ni parar un láser.",
  nav: { label: "Principal", today: "Hoy", plan: "Plan", records: "Registros", practice: "Clínica", back: "Atrás", queue: "Cola", settings: "ajustes", signOut: "Cerrar sesión" },
  skip: "Ir al contenido",
  lock: "Bloquear",
  reload: "Cargar la versión nueva",
  newVersion: "Hay una versión nueva de Dosebook. Solo se carga cuando usted lo diga.",
  readerTab: "Esta pestaña es de solo lectura",
  readerTabMore:
    "Dosebook ya está abierto en otra pestaña de esta tableta, y solo esa escribe. Vuelva a ella, o ciérrela y recargue esta.",
  loading: "Abriendo…",
  startFailed: "Dosebook no puede abrir el almacenamiento de este navegador.",
  startFailedMore:
    "No se ha borrado nada. Recargue la página; si sigue igual, reinicie el navegador. Mientras tanto escriba en papel e introdúzcalo después.",
  partMissing: "No se puede cargar esta pantalla",
  partMissingMore:
    "Probablemente se ha instalado una versión nueva de Dosebook, o no hay conexión. No se ha perdido nada: lo guardado está en esta tableta. Vuelva a cargar la página para seguir.",
  reloadPage: "Volver a cargar la página",
  save: "Guardar",
  cancel: "Cancelar",
  close: "Cerrar",
  undo: "Deshacer",
  yes: "Sí",
  no: "No",
  none: "ninguno",
  notStated: "no indicado",
  unknownPerson: "persona desconocida",
  saved: {
    tablet: "Guardado en esta tableta",
    server: "En el servidor",
    attention: "Requiere atención",
    nothing: "Aún no hay nada guardado",
    saving: "Guardando…",
    at: (time) => `a las ${time}`,
  },
  sync: {
    online: "Conectada",
    offline: "Sin conexión. Todo queda en esta tableta hasta que la haya.",
    waiting: (n) => (n === 1 ? "1 entrada espera a ser enviada" : `${n} entradas esperan a ser enviadas`),
    nothingWaits: "Nada espera a ser enviado",
    last: (when) => `Último contacto con el servidor: ${when}`,
    never: "Aún sin contacto con el servidor",
    now: "Enviar ahora",
    busy: "Enviando…",
  },
  errors: {
    too_large: "Esta entrada es demasiado larga para guardarla. Acorte el texto e inténtelo otra vez.",
    read_only_tab: "Esta pestaña es de solo lectura. No se guardó nada. Use la pestaña que se abrió primero.",
    quota: "La tableta no tiene más espacio. No se guardó nada. Libere espacio e inténtelo otra vez.",
    database_dead: "El almacenamiento de la tableta no responde. No se guardó nada. Recargue la página e inténtelo otra vez.",
    not_enrolled: "Esta tableta ya no está dada de alta. No se guardó nada.",
    seq_moved: "Otra pestaña escribió a la vez. No se guardó nada. Inténtelo otra vez.",
    other: (detail) => `No guardado. ${detail}`,
  },
  number: {
    reads: (text) => `Leído como ${text}`,
    ask: (typed) => `¿Cuál de los dos es «${typed}»?`,
    unreadable: "Esto no es un número. Escriba cifras con un solo punto o coma decimal.",
    zero: "Tiene que ser más que 0.",
    needed: "Hace falta.",
  },
};
