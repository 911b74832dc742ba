/** Copias de seguridad y restauraciones: la pantalla del puesto, y lo que dice una tableta después. */
export const backupWords = {
  title: "Copia de seguridad",
  lead: "Una copia solo cuenta después de haberla abierto y comprobado su diario. Las tabletas conservan lo que escribieron hasta que está en una, y durante 30 días.",
  lastTitle: "Última copia comprobada",
  never: "No hay ninguna copia comprobada.",
  last: (when: string, age: string) => `${when}, ${age}`,
  age: (hours: number) => hours < 1 ? "hace menos de una hora" : hours === 1 ? "hace 1 hora" : hours < 48 ? `hace ${hours} horas` : `hace ${Math.floor(hours / 24)} días`,
  late: "Avise a quien cuida del servidor: lo que llegó desde entonces está solo en el servidor, y en las tabletas que lo escribieron.",
  outside: (n: number) => n === 0 ? "Todo el diario está dentro." : n === 1 ? "1 entrada del diario no está todavía en ninguna copia comprobada." : `${n} entradas del diario no están todavía en ninguna copia comprobada.`,
  tries: "Copias hechas",
  none: "Todavía no se ha hecho ninguna.",
  verified: (position: number) => `Comprobada, hasta la entrada ${position}`,
  failed: (code: string) => `Falló (${code})`,
  problems: {
    backup_broken: "Escrita, y al abrirla no resultó íntegra. No se cuenta con ella.",
    backup_not_written: "No se pudo escribir. ¿Está el disco, y tiene sitio?",
    backup_running: "Se estaba haciendo otra.",
    backup_tool_missing: "Faltan en el servidor los programas de PostgreSQL.",
    backup_tool_failed: "Falló el programa de copias de PostgreSQL.",
    backup_unreadable: "La copia no se pudo abrir.",
    recovery_key_missing: "Todavía no hay clave de recuperación en el servidor.",
  },
  how: "En el servidor",
  howLines: [
    "dosebook backup CARPETA hace una mientras todo funciona. Con DOSEBOOK_BACKUPS puesto, dosebook work hace una cada 12 horas.",
    "Guarde las copias en otro disco, y una fuera de la consulta. La clave de recuperación, 18 palabras en papel, abre las claves del servidor que van dentro.",
    "dosebook restore CARPETA pone una en su sitio; el servidor tiene que estar parado.",
  ],
  restoredTitle: "Restaurado desde una copia",
  restored: (at: string, from: string) => `El ${at} el servidor fue restaurado desde la copia de ${from}.`,
  restoredBy: (who: string, why: string) => `${who}: ${why}`,
  nothingNamed: "Hasta ahora ninguna tableta ha tenido nada que entregar de nuevo.",
  came: (came: number, named: number) => `${came} de ${named} entradas han vuelto`,
  lookAgain: "Lo que se hizo en un puesto después de esa copia no vuelve solo: revise quién dejó la consulta, las contraseñas, las tabletas excluidas y los registros que pasaron a la historia.",
  tablet: {
    restored: (from: string) => `El servidor fue restaurado desde una copia de ${from}.`,
    again: (n: number) => n === 0 ? "No faltaba allí nada de lo que esta tableta había enviado."
      : n === 1 ? "Se entrega de nuevo 1 entrada de esta tableta. Aquí no se pierde nada, y allí nada está dos veces."
      : `Se entregan de nuevo ${n} entradas de esta tableta. Aquí no se pierde nada, y allí nada está dos veces.`,
    others: "Los registros de otras tabletas que llegaron después vuelven en cuanto esas tabletas se conecten. Se sigue registrando como siempre.",
    close: "Entendido",
  },
} as const;
