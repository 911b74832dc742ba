/** Access in an emergency, and what those who answer for the practice are told of it. */
export const emergencyWords = {
  offer: "Emergency: open patients’ records",
  title: "Open patients’ records in an emergency",
  lead: "Your role does not include patients’ records. You can open them for one hour, with a reason. Managers, administrators and the laser safety officer see it at once, and every record you look at is written down.",
  reason: "Reason",
  reasonHint: "Without names or numbers of patients.",
  reasonMissing: "Say why.",
  what: "What is needed",
  read: "Read records",
  write: "Read and record",
  go: "Open for one hour",
  drop: "Back",
  open: (until: string) => `Emergency access until ${until}. Every record you look at is written down.`,
  alarm: (who: string, when: string) => `${who} opened patients’ records in an emergency, ${when}.`,
  alarmWrote: (who: string, when: string) => `${who} opened patients’ records in an emergency to read and record, ${when}.`,
  alarmWhy: (why: string) => `Reason: ${why}`,
  seen: "I have seen this",
} as const;
