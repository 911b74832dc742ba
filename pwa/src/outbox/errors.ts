/** Why something was not saved. Nothing is shown as saved where one of these was thrown. */

export type OutboxCode =
  | "too_large" | "read_only_tab" | "quota" | "database_dead" | "not_enrolled" | "seq_moved";

export class OutboxError extends Error {
  readonly code: OutboxCode;

  constructor(code: OutboxCode, message: string, cause?: unknown) {
    super(message, { cause });
    this.name = "OutboxError";
    this.code = code;
  }
}

/** Give a database's own failure one of our codes. */
export function asOutboxError(problem: unknown): OutboxError {
  if (problem instanceof OutboxError) return problem;
  const name = problem instanceof Error ? problem.name : "";
  if (name === "QuotaExceededError") return new OutboxError("quota", "This tablet has no space left.", problem);
  // A key that is already there was written by somebody else since the sequence was read.
  if (name === "ConstraintError") return new OutboxError("seq_moved", "Another tab wrote at the same time.", problem);
  return new OutboxError("database_dead", "The tablet's storage does not answer; reload this page.", problem);
}
