import type { heatWords as english } from "../en/heat";
import type { Shape } from "../shape";

export const heatWords: Shape<typeof english> = {
  title: "Simular el calor",
  model:
    "Un modelo de un lugar de la superficie: el calor va recto hacia abajo; sin movimiento del punto, carbonización, salpicaduras ni riego sanguíneo. No es ni un mínimo ni un máximo de lo que ocurre en el tejido.",
  duration: "Cuánto tiempo",
  none: "No mostrar",
  durations: { "10 ms": "10 ms", "0.1 s": "0,1 s", "1 s": "1 s", "10 s": "10 s" },
  working: "Calculando …",
  failed: "No se ha podido hacer la simulación en esta tableta.",
  refused: "Estos ajustes no se pueden simular: la potencia, los pulsos y el punto deben conocerse, sin contradicción.",
  fewerSteps: "Menos fino que de costumbre: menos pasos en cada pulso, porque el tiempo es largo.",
  meanPower: "Menos fino que de costumbre: la potencia media en lugar de los pulsos, porque son demasiados.",
  basis: {
    set: "Con la potencia ajustada: no se sabe cuánta llega.",
    verified: "Con la potencia verificada.",
    design: "Con la potencia que la conducción deja pasar por su diseño.",
  },
  cautions:
    "La irradiancia es la media sobre el punto; en el centro de un punto gaussiano es el doble. La integral de daño (Henriques y Moritz) está extrapolada por encima de 60 °C.",
  highest: (temperature) => `Temperatura más alta de la superficie: ${temperature}.`,
  atEnd: (time, temperature) => `Al cabo de ${time}: ${temperature}.`,
  beforeLast: (temperature) => `Queda justo antes del último pulso: ${temperature}.`,
  removed: (depth) => `Eliminado si el punto se quedara en este único lugar: ${depth}.`,
  nothingRemoved: "No se elimina nada.",
  twoLines: "De muchos pulsos se dibujan las temperaturas más altas y las más bajas.",
  outside: (time) => `Después de ${time} el calor también se extiende hacia los lados: línea discontinua, fuera de validez.`,
  damage: (depth) => `La integral de daño llega a 1 hasta ${depth} por debajo de la superficie que queda.`,
  noDamage: "La integral de daño se queda por debajo de 1.",
  measured: (low, high) => `Medido en tejido oral: de ${low} a ${high}, sombreado. La simulación se lee a su lado, nunca en su lugar.`,
  depths: "Qué profundidad, en bandas",
  bands: { pulse_depth: "Un pulso", cut_depth: "Corte", thermal_damage: "Daño térmico, medido" },
  band: (name, low, high) => (low === high ? `${name}: ${low}.` : `${name}: de ${low} a ${high}.`),
  decades: "Cada tramo de la escala es diez veces más profundo que el anterior.",
  measuredOnly: "El daño térmico (borde discontinuo) es lo que midieron los artículos, no se calcula con estos ajustes.",
  idealCut: "El corte es un balance ideal de energía y no sirve para juzgar la distancia a hueso, nervio, vaso o diente.",
  labelHighest: "máxima",
  labelDamage: "daño 1",
  labelMeasured: "medido en tejido",
  labelOutside: "fuera de validez",
  labelSurface: "superficie",
};
