import type { compareWords as english } from "../en/compare";
import type { Shape } from "../shape";

export const compareWords: Shape<typeof english> = {
  title: "Qué cambia si",
  open: "Comparar con otro ajuste",
  lead: "B empieza como copia de A. Cambie un valor y vea qué hace con cada número.",
  sides: { a: "A", b: "B" },
  change: "Cambiar",
  inputs: "Los valores de",
  results: "Todos los números, lado a lado",
  basis: "Números desde",
  fromSet: "la potencia ajustada",
  fromVerified: "la potencia verificada",
  ratio: "B respecto a A",
  same: "igual",
  times: (factor) => `×\u00a0${factor}`,
  noRatio: "sin cociente",
  onlyIn: (side) => `solo en ${side}`,
  use: (side) => `Usar ${side}`,
  copy: "Volver a hacer de B una copia de A",
  back: "Volver al plan",
  nothing: "Aún no hay un ajuste completo que comparar. Complete primero el plan.",
  notUsable: (side, why) => `${side} no se puede usar: ${why}`,
  drawings: "Los dos, dibujados a la misma escala",
  ownScales: "Sus tiempos difieren demasiado para una sola escala: cada uno se dibuja a la suya.",
  changed: "En qué difieren",
  noDifference: "A y B son iguales.",
};
