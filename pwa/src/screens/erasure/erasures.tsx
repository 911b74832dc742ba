import { useSignal } from "@preact/signals";
import { useEffect } from "preact/hooks";
import { Notice, Press } from "../../parts/basics";
import { TextField } from "../../parts/fields";
import { may } from "../../session/rights";
import { place } from "../../session/state";
import { askErasures, keepRules, type Erasures as Known, type Rule } from "../../sync/erasures";
import { t } from "../../text";
import { href } from "../route";
import { Course } from "./erase";
import { deskNames } from "./names";
import { erasureProblem } from "./words";

/** What was erased or is to be, and how long the practice keeps records. */
export function Erasures() {
  const found = useSignal<Known | null>(null);
  const wrong = useSignal<string | null>(null);
  const w = t.erasure;
  const load = async () => {
    try {
      await deskNames();
      found.value = await askErasures();
      wrong.value = null;
    } catch (error) {
      wrong.value = erasureProblem(error);
    }
  };
  useEffect(() => { void load(); }, []);
  if (!may("retention.read")) return <div class="page"><h1>{w.listTitle}</h1><p>{t.desk.notAllowed}</p></div>;
  const known = found.value;
  return (
    <div class="page">
      <div class="row spread"><h1>{w.listTitle}</h1><Press id="erasures-refresh" onPress={() => void load()}>{t.desk.refresh}</Press></div>
      <p class="soft">{w.lead}</p>
      <Notice shape="warn"><p>{w.caution}</p></Notice>
      {wrong.value ? <Notice shape="warn" live><p>{wrong.value}</p></Notice> : null}
      {known === null ? (wrong.value ? null : <p role="status">{t.common.loading}</p>) : (
        <>
          {known.erasures.length === 0 ? <p data-testid="erasures-none">{w.none}</p> : (
            <ul class="list" data-testid="erasures">{known.erasures.map((one) => (
              <li class="item" key={one.record_id}><span class="grow"><Course told={one} />
                <a class="button quiet" href={href("records", one.record_id, "erase")}>{w.record}</a></span></li>))}</ul>
          )}
          <Rules rules={known.rules} onSaved={load} />
        </>
      )}
      <a class="button quiet" href={href("practice")}>{t.common.nav.practice}</a>
    </div>
  );
}

type Typed = Record<keyof Rule, string>;
const EMPTY: Typed = { text: "", years: "", citation: "" };
const YEARS = /^(?:200|1?\d?\d)$/u;

function Rules({ rules, onSaved }: { rules: Rule[]; onSaved: () => Promise<void> }) {
  const w = t.erasure;
  const typed = useSignal<Typed[]>(rules.map((one) => ({ ...one, years: String(one.years) })));
  const tried = useSignal(false);
  const saved = useSignal(false);
  const wrong = useSignal<string | null>(null);
  const set = (at: number, next: Partial<Typed>) => {
    saved.value = false;
    typed.value = typed.value.map((one, i) => (i === at ? { ...one, ...next } : one));
  };
  const save = async () => {
    tried.value = true;
    if (typed.value.some((one) => !one.text.trim() || !one.citation.trim() || !YEARS.test(one.years.trim()))) return;
    try {
      await keepRules(place.value?.location_id ?? "", typed.value.map((one) => ({ text: one.text.trim(), years: Number(one.years), citation: one.citation.trim() })));
      saved.value = true;
      wrong.value = null;
      await onSaved();
    } catch (error) {
      wrong.value = erasureProblem(error);
    }
  };
  return (
    <section class="sheet" aria-label={w.rules} data-testid="retention-rules">
      <h2>{w.rules}</h2>
      <p class="small">{w.rulesLead}</p>
      {may("retention.write") ? (
        <>
          {typed.value.map((one, at) => (
            <div class="stack" key={at}>
              <TextField id={`rule-text-${at}`} label={w.ruleText} value={one.text} max={400} spell wrong={tried.value && !one.text.trim() ? w.needed : undefined} onChange={(text) => set(at, { text })} />
              <TextField id={`rule-years-${at}`} label={w.ruleYears} value={one.years} max={3} wrong={tried.value && !YEARS.test(one.years.trim()) ? w.yearsWrong : undefined} onChange={(years) => set(at, { years })} />
              <TextField id={`rule-citation-${at}`} label={w.ruleCitation} value={one.citation} max={400} spell wrong={tried.value && !one.citation.trim() ? w.needed : undefined} onChange={(citation) => set(at, { citation })} />
              <Press id={`rule-remove-${at}`} onPress={() => { typed.value = typed.value.filter((_, i) => i !== at); saved.value = false; }}>{w.removeRule}</Press>
            </div>
          ))}
          {wrong.value ? <Notice shape="warn" live><p>{wrong.value}</p></Notice> : null}
          <p role="status" data-testid="rules-saved">{saved.value ? w.rulesSaved : ""}</p>
          <div class="row">
            <Press id="rule-add" onPress={() => { typed.value = [...typed.value, EMPTY]; tried.value = saved.value = false; }}>{w.addRule}</Press>
            <Press id="rules-save" kind="main" onPress={() => void save()}>{w.saveRules}</Press>
          </div>
        </>
      ) : rules.length === 0 ? <p>{w.noRule}</p> : <ul class="list">{rules.map((one) => <li class="item" key={one.text}>{w.ruleLine(one.text, one.years, one.citation)}</li>)}</ul>}
    </section>
  );
}
