// Steps of an evaluation, none of which is worked out twice with the same arguments; see
// api/dose/steps.py.

/** A result in SI units, and the dotted name of the function it came from, or "given". */
export interface Result {
  value_si: number;
  formula: string;
}

/** A result that is a range in SI units, and where it came from, or "literature". */
export interface Band {
  low_si: number;
  high_si: number;
  formula: string;
}

export type Results = Map<string, Result | Band>;
export type Ends = readonly [low: number, high: number];

/** The value of a result that is one number. */
export function valueOf(found: ReadonlyMap<string, Result | Band>, name: string): number | undefined {
  const result = found.get(name);
  return result !== undefined && "value_si" in result ? result.value_si : undefined;
}

/** A result as a range. */
export function endsOf(result: Result | Band): Ends {
  return "value_si" in result ? [result.value_si, result.value_si] : [result.low_si, result.high_si];
}

type Arguments = Record<string, number>;

function same(ours: Arguments, theirs: Arguments): boolean {
  for (const name in ours) if (ours[name] !== theirs[name]) return false;
  return true;
}

/** The steps of one evaluation; `earlier` are those of one it may differ little from. */
export class Steps {
  private readonly done = new Map<string, { values: Arguments; result: Result | Band }>();
  private readonly kept = new Map<string, { key: unknown; value: unknown }>();

  constructor(private readonly earlier: Steps | null = null) {}

  /** Return what `work` gives, or gave for the same key. */
  once<T>(name: string, key: unknown, work: () => T): T {
    let found = this.earlier?.kept.get(name);
    if (found === undefined || found.key !== key) found = { key, value: work() };
    this.kept.set(name, found);
    return found.value as T;
  }

  /** Return the result of a function with these arguments; a band if it gives two ends. */
  result<A extends object>(
    name: string,
    formula: string,
    work: (values: A) => number | Ends,
    values: A,
  ): Result | Band {
    let found = this.earlier?.done.get(name);
    if (found === undefined || !same(values as Arguments, found.values)) {
      const value = work(values);
      const result =
        typeof value === "number"
          ? { value_si: value, formula }
          : { low_si: value[0], high_si: value[1], formula };
      found = { values: values as Arguments, result };
    }
    this.done.set(name, found);
    return found.result;
  }
}
