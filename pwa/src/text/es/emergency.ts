import type { emergencyWords as english } from "../en/emergency";
import type { Shape } from "../shape";

export const emergencyWords: Shape<typeof english> = {
  offer: "Urgencia: abrir registros de pacientes",
  title: "Abrir registros de pacientes por una urgencia",
  lead: "Su función no incluye los registros de pacientes. Puede abrirlos durante una hora, con un motivo. Gerencia, administración y responsable de seguridad láser lo ven de inmediato, y cada registro que mire queda anotado.",
  reason: "Motivo",
  reasonHint: "Sin nombres ni números de pacientes.",
  reasonMissing: "Diga por qué.",
  what: "Qué hace falta",
  read: "Leer registros",
  write: "Leer y registrar",
  go: "Abrir durante una hora",
  drop: "Volver",
  open: (until) => `Acceso de urgencia hasta las ${until}. Cada registro que mire queda anotado.`,
  alarm: (who, when) => `${who} abrió registros de pacientes por una urgencia, ${when}.`,
  alarmWrote: (who, when) => `${who} abrió registros de pacientes por una urgencia para leer y registrar, ${when}.`,
  alarmWhy: (why) => `Motivo: ${why}`,
  seen: "Lo he visto",
};
