/** What a desk says about erasing: who, and what was refused. */
import { t } from "../../text";
import { deskWords } from "../desk/papers";

export function erasureProblem(error: unknown): string {
  const known: Readonly<Record<string, string>> = t.erasure.problems;
  return known[(error as { code?: string }).code ?? ""] ?? deskWords(error);
}
