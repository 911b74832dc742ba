/** The dose engine's bibliography, read from its one home at build time. */
import bibliography from "../../../api/dose/references.md?raw";

/** Each key with its entry as one line, and how the entry is known. */
export const citations: Readonly<Record<string, { status: string; text: string }>> = Object.fromEntries(
  [...bibliography.matchAll(/^- `([^`]+)` \(([a-z ]+)\): ([\s\S]*?)(?=\n- `|\n*$(?![\s\S]))/gm)].map(
    ([, key, status, entry]) => [key!, { status: status!, text: entry!.replace(/\s+/g, " ").trim() }]));
