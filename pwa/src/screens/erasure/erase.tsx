import { useSignal } from "@preact/signals";
import { useEffect } from "preact/hooks";
import { Mark, Notice, Press } from "../../parts/basics";
import { dayText, momentText } from "../../parts/dates";
import { Choice, TextField, Tick } from "../../parts/fields";
import { may } from "../../session/rights";
import { person } from "../../session/state";
import { askToErase, declineErasure, eraseNow, holdRecord, lookAt, type Basis, type Look, type Told } from "../../sync/erasures";
import { t } from "../../text";
import { deskNames, nameAtDesk } from "./names";
import { href } from "../route";
import { erasureProblem } from "./words";

const BASES = ["retention_ended", "request", "order"] as const;

/** Erasing one record: what is lost, why it may go, and the word of two people. */
export function EraseRecord({ record_id }: { record_id: string }) {
  const found = useSignal<Look | null>(null);
  const wrong = useSignal<string | null>(null);
  const said = useSignal<string | null>(null);
  const working = useSignal(false);
  const w = t.erasure;
  const load = async () => {
    try {
      await deskNames();
      found.value = await lookAt(record_id);
    } catch (error) {
      wrong.value = erasureProblem(error);
    }
  };
  /** Do it, and show what it came to; what was typed stays where it is when it is refused. */
  const act = async (work: () => Promise<void>, done: string | null = null): Promise<boolean> => {
    if (working.value) return false;
    working.value = true;
    wrong.value = said.value = null;
    try {
      await work();
      await load();
      said.value = done;
      return true;
    } catch (error) {
      wrong.value = erasureProblem(error);
      return false;
    } finally {
      working.value = false;
    }
  };
  useEffect(() => { void load(); }, [record_id]);
  if (!may("retention.read")) return <div class="page"><h1>{w.title}</h1><p>{t.desk.notAllowed}</p></div>;
  const seen = found.value;
  return (
    <div class="page">
      <h1>{w.title}</h1>
      <p class="soft">{w.lead}</p>
      <Notice shape="warn"><p>{w.caution}</p></Notice>
      {wrong.value ? <Notice shape="warn" live id="erase-wrong"><p>{wrong.value}</p></Notice> : null}
      <p role="status" data-testid="erase-said">{said.value ?? ""}</p>
      {seen === null ? (wrong.value ? null : <p role="status">{t.common.loading}</p>) : (
        <>
          <What seen={seen} />
          {seen.erasure ? <Course told={seen.erasure} /> : null}
          {seen.entries === 0 || !may("retention.write") ? null : (
            <>
              {seen.counts_from ? <Notice shape="wait" id="erase-too-new"><p>{w.tooNew(momentText(seen.counts_from))}</p></Notice> : null}
              {seen.held ? null : seen.erasure?.status === "asked" ? <Deciding seen={seen} act={act} busy={working.value} /> : seen.counts_from ? null : <Asking seen={seen} act={act} busy={working.value} />}
              <Hold seen={seen} act={act} busy={working.value} />
            </>
          )}
        </>
      )}
      <a class="button quiet" href={href("records", record_id)}>{w.record}</a>
    </div>
  );
}

function What({ seen }: { seen: Look }) {
  const w = t.erasure;
  return (
    <>
      <section class="sheet" aria-label={w.lost} data-testid="erase-lost">
        <h2>{w.lost}</h2>
        <p class="strong">{w.lostLine(seen.entries, seen.photographs, seen.papers)}</p>
        {seen.aside > 0 ? <p>{w.aside(seen.aside)}</p> : null}
        <p class="small">{w.stays}</p>
      </section>
      <section class="sheet" aria-label={w.kept} data-testid="erase-kept">
        <h2>{w.kept}</h2>
        <p>{w.lastDay(dayText(seen.last_day))}</p>
        {seen.rule && seen.keep_until ? (
          <>
            <p>{w.keepUntil(dayText(seen.keep_until), seen.rule.text, seen.rule.citation)}</p>
            <Mark shape={seen.over ? "done" : "wait"}>{seen.over ? w.over : w.notOver}</Mark>
          </>
        ) : <Mark shape="wait">{w.noRule}</Mark>}
        {seen.held ? <Mark shape="stop">{w.held}</Mark> : null}
      </section>
    </>
  );
}

/** What was asked and decided so far. */
export function Course({ told }: { told: Told }) {
  const w = t.erasure;
  const { asked, declined, erased } = told;
  return (
    <section class="stack" data-testid="erase-course">
      {asked ? (
        <Notice calm>
          <p class="strong">{w.asked(nameAtDesk(asked.by), momentText(asked.at))}</p>
          <p>{w.because(w.bases[asked.basis], asked.citation)}</p>
          {asked.reason ? <p class="pre">{asked.reason}</p> : null}
          {asked.override ? <p class="pre">{w.override}: {asked.override}</p> : null}
        </Notice>
      ) : null}
      {declined && told.status === "declined" ? <Notice calm><p>{w.declined(nameAtDesk(declined.by), momentText(declined.at))}</p><p class="pre">{declined.reason}</p></Notice> : null}
      {erased ? (
        <Notice shape="stop">
          <p class="strong">{w.erased(nameAtDesk(erased.by), nameAtDesk(erased.asked_by), momentText(erased.at))}</p>
          <p>{w.because(w.bases[erased.basis], erased.citation)}</p>
          <p class="small">{w.place(erased.position)}</p>
          <Mark shape={told.rewritten ? "done" : "wait"}>{told.rewritten ? w.rewritten : w.notRewritten}</Mark>
        </Notice>
      ) : null}
    </section>
  );
}

interface Part { seen: Look; act: (work: () => Promise<void>, done?: string | null) => Promise<boolean>; busy: boolean }

function Asking({ seen, act, busy }: Part) {
  const w = t.erasure;
  const basis = useSignal<Basis>(seen.over ? "retention_ended" : "request");
  const form = useSignal({ citation: "", reason: "", override: "" });
  const tried = useSignal(false);
  const { citation, reason, override } = form.value;
  const set = (next: Partial<typeof form.value>) => { form.value = { ...form.value, ...next }; };
  const missing = (text: string) => (tried.value && !text.trim() ? w.needed : undefined);
  const ask = () => {
    tried.value = true;
    if (!citation.trim() || !reason.trim() || (!seen.over && !override.trim())) return;
    void act(() => askToErase(seen.record_id, {
      basis: basis.value, citation: citation.trim(), reason: reason.trim(), override: seen.over ? null : override.trim(),
    }), w.askedNow);
  };
  const open = BASES.filter((one) => seen.over || one !== "retention_ended");
  return (
    <section class="sheet" aria-label={w.ask}>
      <Choice id="erase-basis" legend={w.basis} value={basis.value} onChange={(value) => { basis.value = value as Basis; }}
        options={open.map((value) => ({ value, text: w.bases[value] }))} />
      <TextField id="erase-citation" label={w.citation} hint={w.citationHint} value={citation} max={400} spell wrong={missing(citation)} onChange={(text) => set({ citation: text })} />
      <TextField id="erase-reason" label={w.reason} hint={w.reasonHint} value={reason} max={1000} long spell wrong={missing(reason)} onChange={(text) => set({ reason: text })} />
      {seen.over ? null : <TextField id="erase-override" label={w.override} value={override} max={1000} long spell wrong={missing(override)} onChange={(text) => set({ override: text })} />}
      <Press id="erase-ask" disabled={busy} onPress={ask}>{w.ask}</Press>
    </section>
  );
}

function Deciding({ seen, act, busy }: Part) {
  const w = t.erasure;
  const read = useSignal(false);
  const reason = useSignal("");
  const needed = useSignal(false);
  const mine = seen.erasure?.asked?.by === person.value?.person_id;
  const decline = () => {
    needed.value = !reason.value.trim();
    if (!needed.value) void act(() => declineErasure(seen.record_id, reason.value.trim()));
  };
  return (
    <section class="sheet" aria-label={w.erase} data-testid="erase-deciding">
      {mine ? <p>{w.second}</p> : seen.counts_from ? null : (
        <>
          <Tick id="erase-read" checked={read.value} onChange={(on) => { read.value = on; }}>{w.readBack}</Tick>
          <Press id="erase-now" disabled={!read.value || busy} onPress={() => void act(() => eraseNow(seen.record_id))}>{w.erase}</Press>
        </>
      )}
      <TextField id="erase-decline-reason" label={w.declineReason} value={reason.value} max={1000} spell wrong={needed.value ? w.needed : undefined}
        onChange={(text) => { reason.value = text; needed.value = false; }} />
      <Press id="erase-decline" disabled={busy} onPress={decline}>{w.decline}</Press>
    </section>
  );
}

function Hold({ seen, act, busy }: Part) {
  const w = t.erasure;
  const reason = useSignal("");
  const needed = useSignal(false);
  const press = () => {
    needed.value = !reason.value.trim();
    if (!needed.value) void act(() => holdRecord(seen.record_id, !seen.held, reason.value.trim())).then((done) => { if (done) reason.value = ""; });
  };
  return (
    <section class="sheet" aria-label={seen.held ? w.endHold : w.hold}>
      <TextField id="hold-reason" label={w.holdReason} hint={w.reasonHint} value={reason.value} max={1000} spell wrong={needed.value ? w.needed : undefined}
        onChange={(text) => { reason.value = text; needed.value = false; }} />
      <Press id="hold" disabled={busy} onPress={press}>{seen.held ? w.endHold : w.hold}</Press>
    </section>
  );
}
