// Reading an object field by field: ranges, choices and parts, with the words that refuse them.
// Errors carry the same field paths and the same words as the server's.
import type { RangeEntry } from "./constants";
import type { FieldErrors } from "./errors";
import { NotAQuantity, to_si_between } from "./quantity";

export const UNKNOWN = "is not a field of this request";
export const NULL = "must not be null";
export const OBJECT = "must be an object";
export const REQUIRED = "is required";

export type Values = Record<string, unknown>;
/** Reads one value or throws NotAQuantity; the others read an object and note their own errors. */
export type Field =
  | { kind: "value"; required: boolean; read: (value: unknown) => unknown }
  | { kind: "part"; required: boolean; fields: Record<string, Field> }
  | { kind: "own"; required: boolean; read: (value: unknown, path: string, errors: FieldErrors) => unknown };

export function value(read: (given: unknown) => unknown, required = false): Field {
  return { kind: "value", required, read };
}

export function between(limits: RangeEntry, required = false): Field {
  return value((given) => to_si_between(given, limits), required);
}

export function choice(choices: readonly string[], required = false): Field {
  return value((given) => {
    if (typeof given === "string" && choices.includes(given)) return given;
    throw new NotAQuantity(`must be one of: ${choices.join(", ")}`);
  }, required);
}

export function named(names: readonly string[], make: (name: string) => Field): Record<string, Field> {
  return Object.fromEntries(names.map((name) => [name, make(name)]));
}

export function part(fields: Record<string, Field>, required = false): Field {
  return { kind: "part", required, fields };
}

export function isObject(given: unknown): given is Values {
  return typeof given === "object" && given !== null && !Array.isArray(given);
}

/** Read one value; what is wrong with it goes into the errors at its path. */
export function readAt(errors: FieldErrors, path: string, read: () => unknown): unknown {
  try {
    return read();
  } catch (problem) {
    if (!(problem instanceof NotAQuantity)) throw problem;
    errors[path] = [problem.message];
    return undefined;
  }
}

/** Return what an object states, by field; what is wrong goes into the errors. */
export function readPart(
  given: unknown,
  fields: Record<string, Field>,
  path: string,
  errors: FieldErrors,
): Values {
  if (!isObject(given)) {
    errors[path] = [OBJECT];
    return {};
  }
  const values: Values = {};
  const at = (name: string): string => (path === "" ? name : `${path}.${name}`);
  for (const [name, field] of Object.entries(fields)) {
    if (!Object.hasOwn(given, name)) {
      if (field.required) errors[at(name)] = [REQUIRED];
      continue;
    }
    const stated = given[name];
    if (stated === null) errors[at(name)] = [NULL];
    else if (field.kind === "part") values[name] = readPart(stated, field.fields, at(name), errors);
    else if (field.kind === "own") values[name] = field.read(stated, at(name), errors);
    else values[name] = readAt(errors, at(name), () => field.read(stated));
  }
  for (const name of Object.keys(given)) {
    if (!Object.hasOwn(fields, name)) errors[at(name)] = [UNKNOWN];
  }
  return values;
}
