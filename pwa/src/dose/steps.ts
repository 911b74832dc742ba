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

/** The steps of the evaluations of one request, each as it was worked out first: the evaluations
 * differ little from one another. */
export class Steps {
  private readonly done = new Map<string, { values: Arguments; result: Result | Band }>();
  private readonly kept = new Map<string, { key: unknown; value: unknown }>();

  /** Return what `work` gives, or gave for the same key. */
  once<T>(name: string, key: unknown, work: () => T): T {
    const kept = this.kept.get(name);
    if (kept !== undefined && kept.key === key) return kept.value as T;
    const value = work();
    if (kept === undefined) this.kept.set(name, { key, value });
    return value;
  }

  /** Return the result of a function with these arguments; a band if it gives two ends. */
  result<A extends object>(
    name: string,
    formula: string,
    work: (values: A) => number | Ends,
    values: A,
  ): Result | Band {
    const done = this.done.get(name);
    if (done !== undefined && same(values as Arguments, done.values)) return done.result;
    const value = work(values);
    const result =
      typeof value === "number"
        ? { value_si: value, formula }
        : { low_si: value[0], high_si: value[1], formula };
    if (done === undefined) this.done.set(name, { values: values as Arguments, result });
    return result;
  }
}
