import type { emergencyWords as english } from "../en/emergency";
import type { Shape } from "../shape";
import { begin } from "../begin";

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
  over: (until) => `El acceso de urgencia terminó a las ${until}. Los registros de pacientes vuelven a estar cerrados para su función.`,
  alarm: (who, when) => begin(`${who} abrió registros de pacientes por una urgencia, ${when}.`),
  alarmWrote: (who, when) => begin(`${who} abrió registros de pacientes por una urgencia para leer y registrar, ${when}.`),
  alarmWhy: (why) => `Motivo: ${why}`,
  elsewhereOffer: "Urgencia: leer registros de otro centro",
  elsewhereTitle: "Leer registros de otro centro por una urgencia",
  elsewhereLead: "Usted no tiene función allí. Puede leer sus registros durante una hora, con un motivo. Gerencia, administración y responsable de seguridad láser de ese centro lo ven de inmediato, con su nombre, y cada registro que mire queda anotado. Para registrar allí, la administración de ese centro tiene que darle de alta.",
  elsewhereNone: "Usted trabaja en todos los centros de esta clínica.",
  where: "Dónde están los registros",
  whereMissing: "Elija un centro.",
  elsewhereGo: "Leer allí durante una hora",
  back: (name) => `Volver a ${name}`,
  from: (who, place) => `${who} (${place})`,
  alarmDo: "No hay que hacer nada ahora. Pregunte cuando haya tiempo; el registro de accesos dice qué registros se miraron. En cuanto alguien lo haya visto, ya no se muestra a nadie.",
  seen: "Lo he visto",
};
