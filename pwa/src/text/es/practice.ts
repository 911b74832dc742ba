import type { practiceWords as english } from "../en/practice";
import type { Shape } from "../shape";

export const practiceWords: Shape<typeof english> = {
  title: "Clínica",
  groups: { agreed: "Lo acordado", lasers: "Láseres y seguridad", people: "Personas y tabletas", kept: "Lo que se guarda" },
  pages: {
    presets: { title: "Preajustes", about: "Ajustes de la clínica para cada láser e intervención, con sus versiones." },
    procedures: { title: "Intervenciones", about: "Lo que se hace aquí con un láser, con notas y precauciones." },
    lists: { title: "Listas", about: "La pausa de seguridad y otras listas: sus versiones y quién ha confirmado su lectura." },
    locations: { title: "Centros", about: "Dónde trabaja la clínica, cada centro con su propio historial; abrir otro." },
    sessions: { title: "Quién tiene sesión", about: "Puestos de oficina y tabletas donde alguien tiene sesión ahora, y cómo terminarla." },
    rooms: { title: "Salas", about: "Planos de las salas, distancias de riesgo y quién lleva gafas hasta dónde." },
    checks: { title: "Comprobaciones de los láseres", about: "Comienzo del día y otras listas, respondidas para cada láser: cuándo, por quién, qué falló." },
    registers: { title: "Inventarios y fichas", about: "Láseres, puntas, gafas, llaves y medidores: dónde están, en qué estado y qué toca." },
    service: { title: "Fuera de servicio", about: "Qué láser está fuera de servicio y por qué, retirar uno, puesta en servicio por dos personas, casos afectados." },
    maintenance: { title: "Mantenimiento", about: "Revisiones, reparaciones y traslados de cada láser: quién, la potencia antes y después, los certificados." },
    incidents: { title: "Incidentes", about: "Lo que salió mal, con los primeros auxilios delante de todo; si hay que notificarlo, qué se hace al respecto." },
    power: { title: "Verificaciones de potencia", about: "Lo que sale de la pieza de mano, medido: anotar una verificación, y verlas todas." },
    trend: { title: "Tendencia y cortes de prueba", about: "Si la potencia deriva de una verificación a otra; cortes de prueba en días sin medidor; limpiezas." },
    people: { title: "Personas", about: "Quién trabaja aquí, con qué funciones, y quién las cambió." },
    tablets: { title: "Tabletas", about: "Dar de alta una tableta con un código de un solo uso, cambiarle el nombre, cerrar una perdida." },
    aside: { title: "Apartado", about: "Entradas de tabletas que solo cuentan cuando alguien las ha mirado." },
    backup: { title: "Copia de seguridad", about: "La última copia comprobada y su antigüedad; tras una restauración, lo que ha vuelto." },
    group: { title: "Grupo", about: "Cuánto del diario no está todavía en el grupo que sigue a esta clínica, y por qué; listas y preajustes que propone." },
    erasures: { title: "Registros borrados", about: "Cuánto se guardan los registros, y cuáles se borraron, quién lo hizo y por qué." },
    log: { title: "Registro de accesos", about: "Quién leyó, cambió o exportó qué, o a quién se le negó, cuándo y dónde." },
  },
};
