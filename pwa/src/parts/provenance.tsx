/** What a number rests on: when its formula holds, and how it, its constants and sources are known. */
import { CONSTANTS, FORMULAS } from "../dose/provenance";
import { localNumbers, t } from "../text";
import { citations } from "./citations";
import { conditionText, constantText } from "./constant-text";

interface Props { id: string; formula: string; sources: readonly string[]; edition?: string }

/** The part of an opened number that stands below its formula and its inputs. */
export function Provenance({ id, formula, sources, edition }: Props) {
  const w = t.provenance;
  const entry = FORMULAS[formula];
  return (
    <div class="stack" data-testid={`${id}-rests`}>
      {entry ? <p><strong>{w.validity}:</strong> <span data-testid={`${id}-valid`}>{entry.valid.map(conditionText).join("; ")}.</span></p> : null}
      {entry && entry.constants.length > 0 ? (
        <><p><strong>{w.constants}</strong></p><ul class="inputs">{entry.constants.map((name) => <Constant key={name} name={name} />)}</ul></>
      ) : null}
      <p><strong>{w.status}:</strong> <span data-testid={`${id}-status`}>{statusOf(formula)}</span> <span class="soft">{t.dose.engineName(formula)}</span></p>
      {edition ? <p><strong>{w.edition}:</strong> {edition}</p> : null}
      {sources.length > 0 ? <><p><strong>{t.dose.source}</strong></p><ul class="inputs">{sources.map((key) => <Source key={key} of={key} />)}</ul></> : null}
    </div>
  );
}

/** How a formula is known, in words. */
export function statusOf(formula: string): string {
  if (formula === "given") return t.provenance.asGiven;
  if (formula === "literature") return t.provenance.literature;
  const status = FORMULAS[formula]?.status;
  return status ? t.provenance.formula(statusText(status)) : t.common.notStated;
}

export const statusText = (status: string): string => t.provenance.statuses[status] ?? status;

export function Constant({ name }: { name: string }) {
  const entry = CONSTANTS[name];
  if (!entry) return null;
  return (
    <li><strong>{localNumbers(t.provenance.constant[name] ?? name)}</strong> <span class="num">{constantText(entry)}</span><br />
      <span class="soft">{statusText(entry.status)}{named(entry.source)}</span></li>
  );
}

/** A source as the bibliography has it, and how it is known. */
export function Source({ of }: { of: string }) {
  if (of === "definition") return <li>{t.dose.noSource}</li>;
  const cited = citations[of];
  if (of === "practice" || !cited) return <li>{statusText(cited?.status ?? of)}</li>;
  return <li><span lang="en">{cited.text}</span><br /><span class="soft">{statusText(cited.status)}</span></li>;
}

/** Whose constant it is, as the entry begins, with its year. */
function named(key: string): string {
  const cited = citations[key];
  if (key === "definition" || key === "practice" || !cited) return "";
  const whose = cited.text.split(/[,.:]/)[0]!;
  const year = /\d{4}$/.exec(key)?.[0];
  return `: ${whose}${year && !whose.includes(year) ? ` ${year}` : ""}`;
}
