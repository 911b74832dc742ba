import type { StarterItem, StarterList } from "../en/starters";

const item = (not_applicable: StarterItem["not_applicable"], text: string, why = "", group = ""): StarterItem => ({ text, group, why, not_applicable });
const under = (group: string, items: Record<string, StarterItem>): Record<string, StarterItem> =>
  Object.fromEntries(Object.entries(items).map(([name, one]) => [name, { ...one, group }]));

export const starterLists: Record<"before_patient" | "time_out" | "pause" | "after_use", StarterList> = {
  before_patient: {
    title: "Antes de cada paciente",
    items: {
      ...under("Láser y pieza de mano", {
        check: item("reason", "La comprobación de hoy de este láser se superó"),
        operator: item("never", "Quien opera está autorizado para este láser y esta intervención"),
        handpiece: item("never", "La pieza de mano o la punta está bien asentada, con sus usos dentro del límite"),
        aiming: item("reason", "El haz guía se ve y está donde debe", "El haz de tratamiento no se ve."),
        test: item("reason", "Se hizo la exposición de prueba en papel húmedo sobre un soporte ignífugo, todos con gafas", "Nunca hacia una mano ni hacia personas."),
        footswitch: item("never", "Solo está al alcance el pedal de este láser, y solo lo usa quien opera"),
        stop: item("never", "Todos saben dónde está la parada de emergencia"),
        settings: item("never", "Los ajustes se leyeron en voz alta: el panel muestra lo mismo que la pantalla"),
      }),
      ...under("Gabinete", {
        door: item("never", "La puerta está cerrada, la señal puesta y la ventana cubierta"),
        reflections: item("never", "Lo que refleja está apartado; los instrumentos junto al haz son mates"),
      }),
      ...under("Ojos", {
        eyewear: item("never", "Cada cabeza lleva gafas láser de la longitud de onda y densidad correctas, sin grietas", "Las lupas solo cuentan si están marcadas para esta longitud de onda."),
        patientEyes: item("never", "Los ojos del paciente están cubiertos"),
      }),
      ...under("Aire", {
        evacuator: item("never", "El aspirador de humo está en marcha, con el filtro en fecha y la boquilla a menos de 5 cm de la zona", "NIOSH 96-128: a menos de 2 pulgadas, de 100 a 150 pies por minuto en la entrada."),
        masks: item("never", "Mascarillas de alta filtración puestas; mascarillas autofiltrantes ajustadas si puede haber tejido vírico"),
      }),
      ...under("Lo que el haz no debe tocar", {
        shields: item("reason", "Dientes, hueso, implantes y restauraciones están protegidos, con un tope húmedo detrás del tejido"),
        lips: item("never", "Los labios están libres de pomada", "La pomada puede arder."),
      }),
      ...under("Fuego y gases", {
        wet: item("never", "Gasa húmeda, agua y un extintor están al alcance"),
        alcohol: item("never", "No se usó ninguna preparación con alcohol"),
        gas: item("reason", "El oxígeno y el óxido nitroso están cerrados o reducidos, y pasó el tiempo de espera de nuestra norma escrita", "Ambos avivan el fuego. Si no es así, diga por qué."),
      }),
    },
  },
  time_out: {
    title: "Pausa de seguridad",
    items: {
      patient: item("never", "Se identificó al paciente con dos datos, y ambos coinciden con la historia"),
      site: item("never", "La intervención y la localización se dijeron en voz alta"),
      consent: item("never", "Consta el consentimiento"),
      allergies: item("never", "Se leyeron las alergias y las alertas"),
      settings: item("never", "El láser y los ajustes se leyeron en voz alta; el panel y la pantalla dicen lo mismo"),
      heads: item("never", "Hay gafas para tantas cabezas como hay en el gabinete"),
      plume: item("never", "El aspirador de humo está en marcha y cerca de la zona"),
      fire: item("never", "Hay gasa húmeda al alcance, nada arde, y se atendió al oxígeno y al óxido nitroso"),
      lesion: item("plain", "Lesión sospechosa: primero se toma una muestra, o se dijo por qué no", "El tejido vaporizado ya no se puede examinar."),
      agreed: item("never", "Todos están de acuerdo en empezar"),
    },
  },
  pause: {
    title: "Durante una pausa",
    items: {
      standby: item("never", "El láser está en espera"),
      down: item("never", "La pieza de mano está apoyada y no apunta a nadie"),
      tip: item("plain", "El láser estaba en espera antes de cambiar la punta"),
    },
  },
  after_use: {
    title: "Después del uso",
    items: {
      off: item("reason", "El láser se puso en espera y después se apagó"),
      key: item("reason", "La llave está de nuevo en su sitio"),
      tip: item("plain", "La punta se desechó, o se envió a esterilizar y se contó"),
      barrier: item("never", "Se cambió el film de barrera"),
      eyewear: item("never", "Las gafas se limpiaron y se guardaron"),
      time: item("never", "El tiempo de láser consta en cada pasada"),
      complications: item("never", "Se preguntó por complicaciones y se anotaron"),
    },
  },
};
