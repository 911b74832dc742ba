/** What an administrator is told where a tablet's log is not the server's. */
export const witnessWords = {
  aTablet: "A tablet",
  alarm: (tablet: string, position: number, at: string) => `${tablet} has found that the server’s log is not the one it followed: at position ${position}, ${at}.`,
  open: "What it means and what to do",
  means: "Something that was in the log was changed or taken out, or another copy of the database was put in its place. The tablets keep what they hold, and go on recording.",
  todo: [
    "Do not reset or revoke any tablet: what they remember is the evidence. Make a copy of the database as it is now.",
    "On the server, run `dosebook log verify`: it names the first position that does not hold, and how far the tablets agree. If a backup was put back by hand, put it back with `dosebook restore`.",
  ],
  had: (link: string) => `The tablet had: ${link}`,
  got: (link: string) => `The server gave: ${link}`,
  ask: "It has been looked into",
  foundOut: "What was found out",
  foundOutHint: "It stays in the log, with your name. Without names or numbers of patients.",
  answer: "Put it into the log",
} as const;
