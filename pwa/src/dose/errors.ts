// The refusal of the dose engine: a stable code, words for a person, and what is wrong by field.

export type FieldErrors = Record<string, string[]>;

export class BadInput extends Error {
  readonly code: string;
  readonly errors: FieldErrors;

  constructor(code: string, message: string, errors: FieldErrors) {
    super(message);
    this.name = "BadInput";
    this.code = code;
    this.errors = errors;
  }
}
