import { useSignal } from "@preact/signals";
import { Mark, Notice, Press } from "../../parts/basics";
import { momentText } from "../../parts/dates";
import { TextField } from "../../parts/fields";
import { may } from "../../session/rights";
import { settleAside } from "../../sync/aside";
import { t } from "../../text";
import { attempt, busy } from "../attempt";
import { AsidePhotograph } from "./photograph";
import { nameOf, sentences, type Group } from "./groups";

/** Entries about one thing: what they are, why they are here, and deciding about them. */
export function AsideGroup({ group, onDone }: { group: Group; onDone: (said: string | null) => Promise<void> }) {
  const w = t.aside;
  const { entries } = group;
  const first = entries[0]!;
  const texts = sentences(group);
  const reasons = [...new Set(entries.map((one) => one.reason ?? ""))];
  const { patient } = first;
  return (
    <section class="sheet" data-testid="aside-group">
      <h2>{!group.about_record ? texts.get(first.position) : patient ? [w.chart(patient.chart_number), patient.second_identifier].filter(Boolean).join(", ") : w.aRecord}</h2>
      <p class="small soft">{w.from(first.tablet_label ?? w.aTablet, momentText(first.received_at))}</p>
      {reasons.map((reason) => <p key={reason} data-testid="aside-why">{w.why(reasonText(reason))}</p>)}
      <ul class="list">{entries.map((one) => (
        <li class="item" key={one.position} data-testid="aside-entry"><span class="grow">
          <span class="small soft">{one.occurred_at === null ? w.unreadableTime : momentText(one.occurred_at)}</span>
          <span class="pre">{texts.get(one.position)}</span>
          {one.photograph ? <AsidePhotograph sha256={one.photograph} caption={texts.get(one.position) ?? ""} /> : null}
          {one.obstacle !== null && one.decided === null ? <Mark shape="stop">{w.cannot(reasonText(one.obstacle))}</Mark> : null}
        </span></li>
      ))}</ul>
      {first.decided ? <Decided group={group} /> : null}
      {first.decided?.status === "released" ? null
        : first.may_settle ? <Deciding group={group} onDone={onDone} /> : <p class="small soft">{w.whoDecides}</p>}
    </section>
  );
}

function Decided({ group: { entries } }: { group: Group }) {
  const w = t.aside;
  const { decided } = entries[0]!;
  const who = decided!.by === null ? w.onServer : nameOf(decided!.by);
  return (
    <Notice shape={decided!.status === "released" ? "done" : "stop"} id="aside-decided">
      <p class="strong">{w.by[decided!.status](who, momentText(decided!.at))}</p>
      {decided!.reason ? <p>{w.because(decided!.reason)}</p> : null}
    </Notice>
  );
}

function Deciding({ group, onDone }: { group: Group; onDone: (said: string | null) => Promise<void> }) {
  const w = t.aside;
  const reason = useSignal("");
  const needed = useSignal(false);
  const { key, entries } = group;
  const free = entries.filter((one) => one.obstacle === null).map((one) => one.position);
  const all = entries.map((one) => one.position);
  const rejected = entries[0]!.decided !== null;
  const decide = (decision: "release" | "reject", positions: number[], done: (n: number) => string) => {
    needed.value = !reason.value.trim();
    if (needed.value) return;
    void attempt(() => settleAside(positions, decision, reason.value.trim())).then((went) => {
      // Also after a failure: somebody else may have been faster.
      return onDone(went ? done(positions.length) : null);
    });
  };
  return (
    <div class="stack">
      {free.length > 0 ? <p class="small">{group.about_record ? w.releaseRecord : w.releaseHouse}</p> : <p class="small">{w.cannotMore}</p>}
      {rejected ? null : <p class="small">{w.rejecting}</p>}
      {free.length === 0 && rejected ? null : (
        <>
          <TextField id={`aside-reason-${key.replaceAll(" ", "-")}`} label={w.reason} hint={w.reasonHint} value={reason.value} max={1000} spell
            wrong={needed.value ? w.reasonMissing : undefined} onChange={(text) => { reason.value = text; needed.value = false; }} />
          <div class="row">
            {free.length > 0 ? <Press id="aside-release" kind="main" disabled={busy.value} onPress={() => decide("release", free, w.releasedDone)}>{w.release(free.length)}</Press> : null}
            {rejected ? null : <Press id="aside-reject" disabled={busy.value} onPress={() => decide("reject", all, w.rejectedDone)}>{w.reject(all.length)}</Press>}
          </div>
        </>
      )}
      {may("record.read") || !group.about_record ? null : <p class="small soft">{w.unseen}</p>}
    </div>
  );
}

const reasonText = (code: string): string => {
  const known: Readonly<Record<string, string>> = t.aside.reasons;
  return known[code] ?? code;
};
