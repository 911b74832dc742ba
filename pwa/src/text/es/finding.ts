import type { findingWords as english } from "../en/finding";
import type { Shape } from "../shape";

export const findingWords: Shape<typeof english> = {
  filters: "Filtros",
  active: (n) => (n === 1 ? "1 filtro está activo" : `${n} filtros están activos`),
  clear: "Mostrar todo",
  status: "Estado",
  any: "Todos",
  from: "Desde",
  to: "Hasta",
  operator: "Operador",
  device: "Láser",
  procedure: "Intervención",
  flagged: "Solo con algo observado",
  notInChart: "Solo los que no están en la historia",
  count: (n) => (n === 1 ? "1 registro" : `${n} registros`),
  shown: (shown, all) => `Se muestran ${shown} de ${all}.`,
  more: (n) => `Mostrar ${n} más`,
  offline: (when) => `Sin conexión: se busca en lo que tiene esta tableta, actualizado por última vez ${when}.`,
  offlineNever: "Sin conexión: se busca en lo que tiene esta tableta.",
  captureOnly: "Demasiado tiempo sin el servidor: solo se muestra lo que sigue abierto en esta tableta.",
  readingOlder: "Aún se están leyendo registros más antiguos.",
  flags: (n) => (n === 1 ? "1 observación" : `${n} observaciones`),
  newVersion: (n) => `La versión ${n} aún no está en la historia`,
};
