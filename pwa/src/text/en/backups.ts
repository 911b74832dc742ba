/** Backups and restores: the desk's screen, and what a tablet says after a restore. */
export const backupWords = {
  title: "Backup",
  lead: "A backup counts only after it was opened and its log verified. Tablets keep what they wrote until it is inside one, and for 30 days.",
  lastTitle: "Last verified backup",
  never: "There is no verified backup.",
  last: (when: string, age: string) => `${when}, ${age}`,
  age: (hours: number) => hours < 1 ? "less than an hour ago" : hours === 1 ? "1 hour ago" : hours < 48 ? `${hours} hours ago` : `${Math.floor(hours / 24)} days ago`,
  late: "Tell whoever looks after the server: what came in since is on the server only, and on the tablets that wrote it.",
  outside: (n: number) => n === 0 ? "Everything in the log is inside it." : n === 1 ? "1 entry of the log is in no verified backup yet." : `${n} entries of the log are in no verified backup yet.`,
  tries: "Backups made",
  none: "None has been made yet.",
  verified: (position: number) => `Verified, up to entry ${position}`,
  failed: (code: string) => `Failed (${code})`,
  problems: {
    backup_broken: "Written, and found not to hold when it was opened. It is not counted on.",
    backup_not_written: "It could not be written. Is the disk there, and is there room on it?",
    backup_running: "Another one was being made.",
    backup_tool_missing: "PostgreSQL’s programs are missing on the server.",
    backup_tool_failed: "PostgreSQL’s program for copies failed.",
    backup_unreadable: "The copy could not be opened.",
    recovery_key_missing: "There is no recovery key on the server yet.",
  },
  how: "On the server",
  howLines: [
    "dosebook backup FOLDER makes one while everything runs. With DOSEBOOK_BACKUPS set, dosebook work makes one every 12 hours.",
    "Keep backups on another disk, and one outside the practice. The recovery key, 18 words on paper, opens the server’s keys inside.",
    "dosebook restore FOLDER puts one in place; the server has to be stopped.",
  ],
  restoredTitle: "Restored from a backup",
  restored: (at: string, from: string) => `On ${at} the server was restored from the backup of ${from}.`,
  restoredBy: (who: string, why: string) => `${who}: ${why}`,
  nothingNamed: "No tablet has had anything to hand in again so far.",
  came: (came: number, named: number) => `${came} of ${named} entries have come back`,
  lookAgain: "What was done at a desk after that backup does not come back by itself: look again at people who left, passwords, tablets that were shut out, and records that were put into charts.",
  tablet: {
    restored: (from: string) => `The server was restored from a backup of ${from}.`,
    again: (n: number) => n === 0 ? "Nothing that this tablet had sent was missing there."
      : n === 1 ? "1 entry of this tablet is handed in again. Nothing is lost here, and nothing is there twice."
      : `${n} entries of this tablet are handed in again. Nothing is lost here, and nothing is there twice.`,
    others: "Records of other tablets that came after it are back as soon as those tablets have been connected. Recording goes on as always.",
    close: "Understood",
  },
} as const;
