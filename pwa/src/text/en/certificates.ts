import type { PaperCode, Whereabouts } from "../../session/certificates";

const wrong: Record<PaperCode, string> = {
  certificate_empty: "There is nothing in this file.",
  certificate_too_large: "This file is larger than 5 MB.",
  certificate_unknown_kind: "This is no PDF, PNG or JPEG, whatever it is called.",
  certificate_damaged: "This file is broken off or damaged. Get it anew from where it came.",
  certificate_gone: "This file is not at hand any more. Choose it again, or take it away.",
};
const where: Record<Whereabouts, string> = {
  tablet: "on this tablet, goes to the server by itself", server: "on the server", to_come: "still to come from where it was added",
  refused: "not taken by the server: add it once more",
};

/** The files of certificates, where work or a calibration is noted and where it is read. */
export const certificateWords = {
  title: "Certificates",
  label: "Certificates as files",
  hint: "PDF, PNG or photograph, up to 5 MB each, ten at most. Everybody who works here can open them and they cannot be erased: nothing of a patient belongs into them.",
  add: "Add files",
  /** What a control does, with the file it does it to, for whoever does not see the list. */
  one: (what: string, name: string) => `${what}: ${name}`,
  take: "Take it away",
  adding: "Looking at the file",
  sending: (n: number, of: number, name: string) => `Sending file ${n} of ${of}: ${name}`,
  notTaken: (name: string, why: string) => `${name}: ${why}`,
  tooMany: "Ten files at most in one entry.",
  twice: "This file is there already.",
  wrong,
  where,
  cannotTell: "can be opened with a connection to the server",
  save: "Save the file",
  show: "Show",
  hide: "Put it away",
  notThere: "The file is not on the server yet. It comes from the tablet or desk on which it was added.",
  noConnection: "The server cannot be reached. Try again with a connection.",
  trouble: "The file could not be opened.",
  unused: (n: number) => n === 1
    ? "1 file on the server is named by no entry: it was sent, and what it was for was not saved. It is kept."
    : `${n} files on the server are named by no entry: they were sent, and what they were for was not saved. They are kept.`,
} as const;
