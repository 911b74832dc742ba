import type { todayWords as english } from "../en/today";
import type { Shape } from "../shape";

export const todayWords: Shape<typeof english> = {
  title: "Hoy",
  hello: (name, place) => `${name} en ${place}`,
  lasers: "Láseres y su última verificación de potencia",
  noLasers: "Aún no hay ningún láser registrado en este centro.",
  notVerified: "Ninguna verificación de potencia registrada",
  failedCheck: "Última verificación no superada: no se usa para la dosis",
  verdict: { ok: "Superada", warn: "Superada con aviso", fail: "No superada" },
  ratioLead: "El porcentaje es la parte de la potencia ajustada que llega a la pieza de mano.",
  checked: (date, age) => `Verificado el ${date}, ${age}`,
  forMode: (mode) => `emisión ${mode}`.toLowerCase(),
  overdue: (every) => `Toca: aquí las verificaciones de potencia están previstas ${every}.`,
  doNotRaise: "No suba el panel para compensar un cociente bajo; siga las instrucciones del fabricante.",
  openCase: "Caso abierto",
  goOn: "Seguir con él",
  unsigned: "Terminadas, sin firmar",
  noUnsigned: "Ningún registro espera una firma.",
  newCase: "Nueva intervención",
  since: (time) => `desde las ${time}`,
  startFrom: "Empezar con un preajuste usado hace poco",
  startProcedure: "Empezar por una intervención",
  signAll: (n) => `Releer y firmar las ${n}`,
  sending: "Envío al servidor",
  readingOlder: "Aún se están leyendo las intervenciones anteriores de esta tableta.",
};
