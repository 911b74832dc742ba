import { useSignal } from "@preact/signals";
import { newId } from "../../events/ids";
import { Glyph, Press } from "../../parts/basics";
import { Choice, TextField } from "../../parts/fields";
import { DUE_DEFAULTS } from "../../session/due";
import { draft } from "../../session/draft";
import { dueRuleDocuments, rulesNow, sayOf } from "../../session/registers";
import { may } from "../../session/rights";
import { person, writing } from "../../session/state";
import { t } from "../../text";
import { attempt, busy } from "../attempt";
import { go, href } from "../route";
import { everyText } from "./every";

/** How often something is due here, and on whose word; `what` names the one that is changed. */
export function DueRules({ what }: { what: string | null }) {
  const w = t.registers.due;
  if (what && what in DUE_DEFAULTS && may("device.write")) return <Change key={what} what={what} />;
  const rules = rulesNow();
  return (
    <div class="page">
      <h1>{w.rules}</h1>
      <p class="soft">{w.rulesLead}</p>
      <ul class="list">{Object.keys(DUE_DEFAULTS).map((one) => {
        const line = <span class="grow"><span class="strong">{w.what[one]}: {everyText(rules[one]!)}</span><span class="small">{citationOf(one)}</span></span>;
        return <li key={one}>{may("device.write") ? <a class="item" href={href("practice", "registers", "due", one)} data-testid={`due-rule-${one}`}>{line}<Glyph shape="turn" /></a> : <span class="item">{line}</span>}</li>;
      })}</ul>
      <p class="small soft">{w.credentials}</p>
      <a class="button quiet" href={href("practice", "registers")}>{t.registers.title}</a>
    </div>
  );
}

const citationOf = (what: string): string => dueRuleDocuments.value.find((one) => one.due_rule_id === what)?.citation ?? t.registers.due.citations[what] ?? "";

interface Form { number: string; unit: "days" | "months"; citation: string; key: string }
const MOST = { days: 3660, months: 120 } as const;

function Change({ what }: { what: string }) {
  const w = t.registers.due;
  const kept = draft<Form | null>(`due-rule:${person.value!.person_id}:${what}`, null);
  const tried = useSignal(false);
  if (!kept.ready.value) return <p class="page" role="status">{t.common.loading}</p>;
  const now = rulesNow()[what]!;
  const form = kept.value.value ?? { number: String(now.every_days ?? now.every_months), unit: now.every_days !== null ? "days" : "months", citation: citationOf(what), key: newId() };
  const set = (part: Partial<Form>) => kept.set({ ...form, ...part, key: newId() });
  const number = /^[1-9]\d{0,3}$/.test(form.number.trim()) && Number(form.number) <= MOST[form.unit] ? Number(form.number) : null;
  const citation = form.citation.trim();
  const back = () => { kept.clear(); go("practice", "registers", "due"); };
  const save = () => {
    tried.value = true;
    if (number === null || !citation) return;
    const rule = { every_days: form.unit === "days" ? number : null, every_months: form.unit === "months" ? number : null, citation };
    void attempt(() => sayOf("due_rule.set", what, rule, form.key)).then((held) => { if (held) back(); });
  };
  return (
    <form class="page narrow" onSubmit={(event) => { event.preventDefault(); save(); }}>
      <h1>{w.what[what]}</h1>
      <TextField id="due-number" label={w.every} mode="numeric" max={4} value={form.number} onChange={(text) => set({ number: text })} wrong={number === null ? w.numberWrong(MOST[form.unit]) : undefined} />
      <Choice id="due-unit" legend={w.unit} across value={form.unit} options={(["days", "months"] as const).map((value) => ({ value, text: w.units[value] }))} onChange={(unit) => set({ unit: unit as Form["unit"] })} />
      <TextField id="due-citation" label={w.citation} hint={w.citationHint} value={form.citation} max={400} spell onChange={(text) => set({ citation: text })} wrong={tried.value && !citation ? w.citationMissing : undefined} />
      <div class="row"><Press id="due-save" kind="main" large disabled={busy.value || !writing.value} onPress={save}>{t.registers.save}</Press>
        <Press id="due-drop" kind="quiet" onPress={back}>{t.registers.drop}</Press></div>
    </form>
  );
}
