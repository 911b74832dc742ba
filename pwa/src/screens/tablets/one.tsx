import { useSignal } from "@preact/signals";
import { Notice, Press } from "../../parts/basics";
import { momentText } from "../../parts/dates";
import { TextField } from "../../parts/fields";
import { confirmTablet, renameTablet, revokeTablet, type ListedTablet } from "../../sync/tablets";
import { t } from "../../text";
import { problemText } from "../attempt";
import { deskWords } from "../desk/papers";
import { href } from "../route";
import { States } from "./states";

interface Props { tablet: ListedTablet; onChanged: () => Promise<void>; wrong: string | null }

/** One tablet: what is known of it, another name for it, and shutting it out. */
export function OneTablet({ tablet, onChanged, wrong }: Props) {
  const w = t.tablets;
  const label = useSignal(tablet.label);
  const reason = useSignal("");
  const asking = useSignal(false);
  const needed = useSignal(false);
  const problem = useSignal<string | null>(null);
  const wrongLabel = useSignal<string | null>(null);
  const said = useSignal<string | null>(null);
  const busy = useSignal(false);
  const run = async (work: () => Promise<void>, done: string) => {
    if (busy.value) return;
    busy.value = true;
    problem.value = said.value = wrongLabel.value = null;
    try {
      await work();
      said.value = done;
      asking.value = false;
    } catch (error) {
      const at_label = (error as { code?: string }).code?.startsWith("label_");
      (at_label ? wrongLabel : problem).value = at_label ? problemText(error) : deskWords(error);
    } finally {
      busy.value = false;
    }
    // Also after a failure: it may be that somebody else was faster.
    await onChanged();
  };
  const rename = () => {
    const wanted = label.value.trim();
    if (wanted) void run(() => renameTablet(tablet.tablet_id, wanted), w.renamed(wanted));
  };
  const revoke = () => {
    needed.value = !reason.value.trim();
    if (!needed.value) void run(() => revokeTablet(tablet.tablet_id, reason.value.trim()), w.revokeDone);
  };
  return (
    <div class="page">
      <h1>{tablet.label}</h1>
      <States tablet={tablet} />
      {wrong ?? problem.value ? <Notice shape="warn" id="tablet-wrong" live><p>{problem.value ?? wrong}</p></Notice> : null}
      {said.value ? <Notice shape="done" id="tablet-said" live><p>{said.value}</p></Notice> : null}
      <p class="small">{w.enrolledBy(momentText(tablet.enrolled_at), tablet.enrolled_by ?? w.onServer)}</p>
      <p class="small">{tablet.last_seen_at ? w.seen(momentText(tablet.last_seen_at)) : w.neverSeen}</p>
      <p class="small">{tablet.waiting === null ? w.waitingUnknown : w.waiting(tablet.waiting)}</p>
      {tablet.replaces ? <p class="small">{w.goesOn}</p> : null}
      {tablet.revoked_at ? <Notice shape="lock" id="tablet-revoked"><p>{w.revokedBy(momentText(tablet.revoked_at), tablet.revoked_by ?? w.onServer)}</p>
        {tablet.revoked_because ? <p>{w.because(tablet.revoked_because)}</p> : null}<p class="small">{w.revokedMore}</p></Notice> : null}
      {tablet.forked_at && !tablet.revoked_at ? <Notice shape="warn" id="tablet-forked"><p class="strong">{w.forked}</p><p>{w.forkedMore(momentText(tablet.forked_at))}</p></Notice> : null}
      {tablet.unconfirmed && !tablet.revoked_at ? (
        <Notice shape="warn" id="tablet-unconfirmed"><p class="strong">{w.unconfirmed}</p><p>{w.unconfirmedMore}</p>
          <Press id="tablet-confirm" disabled={busy.value} onPress={() => void run(() => confirmTablet(tablet.tablet_id), w.confirmed)}>{w.confirm}</Press></Notice>
      ) : null}
      <form class="sheet narrow" onSubmit={(e) => { e.preventDefault(); rename(); }}>
        <h2>{w.nameTitle}</h2>
        <TextField id="tablet-label" label={t.door.enrol.label} hint={t.door.enrol.labelHint} value={label.value} max={80}
          wrong={wrongLabel.value ?? undefined} onChange={(v) => { label.value = v; wrongLabel.value = null; }} />
        <Press id="tablet-rename" submit disabled={busy.value || !label.value.trim() || label.value.trim() === tablet.label} onPress={() => undefined}>{w.rename}</Press>
      </form>
      {tablet.revoked_at ? null : (
        <form class="sheet narrow" data-testid="tablet-revoke" onSubmit={(e) => { e.preventDefault(); revoke(); }}>
          <h2>{w.revokeTitle}</h2>
          <p class="small">{w.revokeLead}</p>
          {asking.value ? (
            <>
              <TextField id="revoke-reason" label={w.reason} hint={w.reasonHint} value={reason.value} max={500} focus onChange={(v) => { reason.value = v; needed.value = false; }} wrong={needed.value ? t.desk.needed : undefined} />
              <div class="row"><Press id="revoke-go" kind="main" submit disabled={busy.value} onPress={() => undefined}>{w.revokeGo}</Press>
                <Press id="revoke-leave" kind="quiet" onPress={() => { asking.value = false; }}>{t.common.cancel}</Press></div>
            </>
          ) : <Press id="revoke-ask" onPress={() => { asking.value = true; }}>{w.revokeAsk}</Press>}
        </form>
      )}
      {tablet.quarantined > 0 ? <a class="button" href={href("practice", "aside", tablet.tablet_id)} data-testid="aside-open">{w.asideOpen(tablet.quarantined)}</a> : null}
      <a class="button quiet" href={href("practice", "tablets")} data-testid="tablets-back">{w.back}</a>
    </div>
  );
}
