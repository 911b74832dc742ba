import type { DeviceKind } from "../../session/check-verdict";
import type { ListKind } from "../../session/lists";
import type { Beside } from "../../session/types";
import type { StarterItem, StarterList } from "../en/starters";

const item = (not_applicable: StarterItem["not_applicable"], text: string, why = "", beside: Beside | null = null): StarterItem => ({ text, group: "", why, not_applicable, beside });
const under = (group: string, items: Record<string, StarterItem>): Record<string, StarterItem> =>
  Object.fromEntries(Object.entries(items).map(([name, one]) => [name, { ...one, group }]));

export const starterLists: Record<ListKind | DeviceKind, StarterList> = {
  before_patient: {
    title: "Antes de cada paciente",
    items: {
      ...under("Láser y pieza de mano", {
        check: item("reason", "La comprobación de hoy de este láser se superó", "", "todays_check"),
        operator: item("never", "Quien opera está autorizado para este láser y esta intervención"),
        handpiece: item("never", "La pieza de mano o la punta está bien asentada, con sus usos dentro del límite"),
        aiming: item("reason", "El haz guía se ve y está donde debe", "El haz de tratamiento no se ve.", "aiming_beam"),
        test: item("reason", "Se hizo la exposición de prueba en papel húmedo sobre un soporte ignífugo, todos con gafas", "Nunca hacia una mano ni hacia personas.", "test_exposure"),
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
        evacuator: item("never", "El aspirador de humo está en marcha, con el filtro en fecha y la boquilla a menos de 5 cm de la zona", "NIOSH 96-128: a menos de 2 pulgadas, de 100 a 150 pies por minuto en la entrada.", "nozzle"),
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
      heads: item("never", "Hay gafas para tantas personas como hay en el gabinete"),
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
  commissioning: {
    title: "Puesta en marcha de un láser",
    items: {
      ...under("Papeles", {
        register: item("never", "El láser está en el registro como dice su etiqueta: número de serie, longitud de onda, clase, límites de sus ajustes"),
        manual: item("never", "Las instrucciones del fabricante están junto al láser, y quienes van a usarlo las han leído"),
      }),
      ...under("Montaje", {
        arm: item("never", "El brazo o la guía está asentado como muestra el fabricante, se mueve con libertad y se queda donde se deja"),
        air: item("plain", "La línea de aire está conectada y sin fugas, con la presión que pide el fabricante"),
        mains: item("never", "La red eléctrica es la que pide la etiqueta, con toma de tierra y sin alargador"),
        converter: item("plain", "El convertidor de tensión es de los que admite el fabricante, con potencia para este láser"),
        cooling: item("plain", "La refrigeración funciona; su nivel y sus entradas de aire están como pide el fabricante"),
      }),
      ...under("Lo que da seguridad", {
        interlock: item("reason", "El enclavamiento corta la emisión cuando se abre su contacto", "Probado con el haz en papel húmedo, todos con gafas."),
        stop: item("never", "La parada de emergencia apaga el láser, y todos saben dónde está"),
        footswitch: item("never", "La emisión empieza solo con el pedal y termina al levantar el pie"),
        key: item("never", "Sin su llave el láser no arranca; todas las llaves están en el registro"),
        sign: item("never", "Las señales, las cubiertas de las ventanas y las gafas están listas para la zona de la sala"),
      }),
      ...under("Medido", {
        warmUp: item("never", "Se midió el tiempo de calentamiento y está en la nota de esta comprobación"),
        aiming: item("never", "El haz guía se ve y está centrado en la marca de una exposición de prueba", "El haz de tratamiento no se ve.", "aiming_beam"),
        test: item("never", "Se hizo una exposición de prueba en papel húmedo sobre un soporte ignífugo, con gafas para todos", "Nunca hacia una mano ni hacia personas.", "test_exposure"),
        power: item("never", "Se hizo la primera verificación de potencia con un medidor, y se superó"),
      }),
    },
  },
  after_move: {
    title: "Después de un traslado o una revisión",
    items: {
      ...under("Entero y conectado", {
        damage: item("never", "La carcasa, los cables y el brazo no muestran daños del camino ni del trabajo"),
        arm: item("never", "El brazo o la guía está asentado y se mueve con libertad"),
        air: item("plain", "La línea de aire está conectada y sin fugas"),
        mains: item("never", "La red eléctrica de aquí es la que pide la etiqueta, con toma de tierra y sin alargador"),
        converter: item("plain", "El convertidor de tensión vino con el láser y es el suyo"),
        cooling: item("plain", "La refrigeración funciona y nada gotea"),
      }),
      ...under("Lo que da seguridad", {
        interlock: item("reason", "El enclavamiento de esta sala está conectado y corta la emisión"),
        stop: item("never", "La parada de emergencia apaga el láser"),
        footswitch: item("never", "El pedal inicia y termina la emisión; no hay al alcance el pedal de otro láser"),
        key: item("never", "Todas las llaves han vuelto y están contadas"),
        zone: item("reason", "La zona de esta sala se decidió para este láser, y están las señales y las gafas"),
      }),
      ...under("Medido", {
        warmUp: item("never", "Se midió el tiempo de calentamiento y está en la nota de esta comprobación"),
        aiming: item("never", "El haz guía se ve y está centrado", "Un traslado puede mover un espejo.", "aiming_beam"),
        test: item("never", "Se hizo una exposición de prueba en papel húmedo sobre un soporte ignífugo, con gafas para todos", "Nunca hacia una mano ni hacia personas.", "test_exposure"),
        power: item("never", "Después se hizo una verificación de potencia con un medidor, y se superó"),
      }),
    },
  },
  start_of_day: {
    title: "Comienzo del día",
    items: {
      ...under("El láser", {
        cables: item("never", "El cable, el brazo, la punta y el pedal están enteros"),
        key: item("never", "La llave está aquí y gira"),
        stop: item("never", "La parada de emergencia funciona"),
        interlock: item("reason", "El enclavamiento funciona"),
        cooling: item("plain", "La refrigeración funciona"),
        aiming: item("never", "El haz guía se ve y está centrado", "Un punto débil o desviado pide limpieza o revisión.", "aiming_beam"),
        test: item("never", "La exposición de prueba se ve como siempre", "En papel húmedo sobre un soporte ignífugo, todos con gafas.", "test_exposure"),
      }),
      ...under("La sala", {
        evacuator: item("never", "El aspirador de humo tira como debe, y su filtro está en fecha", "", "nozzle"),
        sign: item("never", "La señal de aviso está en la puerta, la ventana está cubierta"),
        eyewear: item("never", "Hay gafas para cada cabeza, limpias y sin grietas"),
        fire: item("never", "La gasa húmeda, el agua y un extintor están en su sitio"),
      }),
    },
  },
  end_of_day: {
    title: "Final del día",
    items: {
      off: item("never", "El láser se puso en espera y se apagó"),
      key: item("never", "La llave está quitada y en su sitio"),
      arm: item("plain", "El brazo o la guía está recogido, con su salida tapada"),
      tips: item("plain", "Las piezas de mano y las puntas se desecharon, o se mandaron a esterilizar y se contaron"),
      footswitch: item("never", "El pedal y los cables están recogidos, nada está doblado"),
      evacuator: item("never", "El aspirador de humo está apagado; su filtro se cambió si tocaba"),
      eyewear: item("never", "Las gafas se limpiaron y se contaron"),
      open: item("never", "Todo lo que hoy iba mal se dijo a quien se ocupa de la seguridad"),
    },
  },
  weekly: {
    title: "Comprobación semanal",
    items: {
      power: item("reason", "Se hizo la verificación de potencia de esta semana con un medidor, y se superó"),
      optic: item("plain", "La óptica de salida está limpia, hasta donde el fabricante deja verla", "Llave quitada; se limpia solo como dice el fabricante, y del todo seca antes de emitir."),
      cables: item("never", "Los cables y las mangueras están enteros en toda su longitud"),
      level: item("plain", "El nivel de refrigerante es correcto y nada gotea"),
      filters: item("never", "El filtro del aspirador de humo está dentro de sus horas"),
      eyewear: item("never", "Cada par de gafas se puede leer, ajusta y no tiene grietas"),
      records: item("never", "No falta sin motivo ninguna comprobación de los últimos días"),
    },
  },
  monthly: {
    title: "Comprobación mensual",
    items: {
      stop: item("never", "La parada de emergencia y el enclavamiento se probaron y cortan la emisión", "En papel húmedo sobre un soporte ignífugo, todos con gafas."),
      footswitch: item("never", "El pedal está limpio bajo su cubierta, no se atasca y va unido a este láser"),
      arm: item("plain", "Las articulaciones del brazo, o la guía, se mueven por igual en todo su recorrido"),
      air: item("plain", "El filtro de aire y las entradas de refrigeración están limpios"),
      keys: item("never", "Se contaron todas las llaves"),
      signs: item("never", "Las señales, las cubiertas de las ventanas y las cortinas están enteras"),
      extinguisher: item("never", "El extintor está cargado y en fecha"),
    },
  },
  yearly: {
    title: "Comprobación anual",
    items: {
      service: item("reason", "Se hizo la revisión del fabricante de este año, con su certificado"),
      electrical: item("reason", "Se hizo la prueba de seguridad eléctrica que pide la ley de aquí"),
      meter: item("never", "El medidor de potencia se calibró en el último año"),
      limits: item("never", "El registro sigue diciendo lo mismo que la etiqueta y el panel"),
      inventory: item("never", "El láser, las piezas de mano y las gafas se hallaron donde dice el inventario", "Texas 25 TAC 289.301(j) pide un inventario anual; su ley puede pedir más."),
      training: item("never", "Todos los que usan este láser tienen la formación en fecha"),
      zone: item("never", "Se revisó de nuevo la zona de cada sala"),
      rules: item("never", "Las normas escritas y estas listas se leyeron y siguen siendo correctas"),
    },
  },
};
