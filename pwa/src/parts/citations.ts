/** The dose engine's bibliography, read from its one home at build time. */
import bibliography from "../../../api/dose/references.md?raw";

/** Each key with its entry as one line. */
export const citations: Readonly<Record<string, string>> = Object.fromEntries(
  [...bibliography.matchAll(/^- `([^`]+)`: ([\s\S]*?)(?=\n- `|\n*$(?![\s\S]))/gm)].map(
    ([, key, entry]) => [key!, entry!.replace(/\s+/g, " ").trim()]));
