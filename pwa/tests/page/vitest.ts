// Stands in for vitest in a page of a real browser: the tests that import "vitest" are bundled with
// this instead (tests/dose/test_vectors_in_page.py) and run at once, with vitest's own assertions.
import { chai, JestAsymmetricMatchers, JestChaiExpect, JestExtend } from "@vitest/expect";

for (const matchers of [JestExtend, JestChaiExpect, JestAsymmetricMatchers]) chai.use(matchers);
export const expect = chai.expect;

/** What became of each test: its name, and why it failed or null. */
export const results: { name: string; problem: string | null }[] = [];

type Work = (...values: never[]) => unknown;

function run(name: string, work: () => unknown): void {
  let problem: string | null = null;
  try {
    if (work() instanceof Promise) problem = "a test that takes time cannot be run here";
  } catch (thrown) {
    problem = String(thrown);
  }
  results.push({ name, problem });
}

function named(name: string, value: unknown): string {
  const fields = (typeof value === "object" && value !== null ? value : {}) as Record<string, unknown>;
  return name.replace(/\$(\w+)/g, (_, key: string) => String(fields[key])).replace("%s", String(value));
}

export function test(name: string, work: Work): void {
  run(name, work as () => unknown);
}

test.each = (values: readonly unknown[]) => (name: string, work: Work): void => {
  for (const value of values) run(named(name, value), () => work(value as never));
};

export function describe(_name: string, work: () => void): void {
  work();
}
