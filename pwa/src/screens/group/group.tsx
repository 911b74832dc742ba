import { useSignal } from "@preact/signals";
import { useEffect } from "preact/hooks";
import { Mark, Notice, Press } from "../../parts/basics";
import { momentText } from "../../parts/dates";
import { may } from "../../session/rights";
import { askReplication, type Behind as Lag, type Followed, type Replication } from "../../sync/replication";
import { askOffers, askRollouts, type Offer, type Rollouts as Known } from "../../sync/rollouts";
import { t } from "../../text";
import { deskWords } from "../desk/papers";
import { useRegisters } from "../registers";
import { href } from "../route";
import { Waiting } from "./late";
import { Offers } from "./offers";
import { Rollouts } from "./rollouts";

/** How far the group is behind, what is in the way, and at a group server whom it follows. */
export function Group() {
  const registers = useRegisters();
  const found = useSignal<Replication | null>(null);
  const offers = useSignal<readonly Offer[]>([]);
  const rollouts = useSignal<Known | null>(null);
  const wrong = useSignal<string | null>(null);
  const w = t.group;
  const load = async () => {
    try {
      [found.value, offers.value, rollouts.value] = await Promise.all([askReplication(), askOffers(), askRollouts()]);
      wrong.value = null;
    } catch (error) {
      wrong.value = deskWords(error);
    }
  };
  useEffect(() => { void load(); }, []);
  if (!may("group.read")) return <div class="page"><h1>{w.title}</h1><p>{t.desk.notAllowed}</p></div>;
  const known = found.value;
  return (
    <div class="page">
      <div class="row spread"><h1>{w.title}</h1><Press id="group-refresh" onPress={() => void load()}>{t.desk.refresh}</Press></div>
      <p class="soft">{w.lead}</p>
      {wrong.value ? <Notice shape="warn" live><p>{wrong.value}</p></Notice> : null}
      {known === null ? <p role="status">{t.common.loading}</p> : (
        <>
          {known.group ? <Behind known={known.group} /> : <p class="sheet" data-testid="group-none">{w.none}</p>}
          <Offers offers={offers.value} />
          {known.practices.length > 0 ? <Practices practices={known.practices} /> : null}
          {registers === true && rollouts.value && (known.practices.length > 0 || rollouts.value.rollouts.length > 0) ? <Rollouts known={rollouts.value} again={load} /> : null}
        </>
      )}
      <section class="sheet" aria-label={w.how}>
        <h2>{w.how}</h2>
        {w.howLines.map((line) => <p class="small" key={line}>{line}</p>)}
      </section>
      <a class="button quiet" href={href("practice")}>{t.common.nav.practice}</a>
    </div>
  );
}

/** What waits and since when, the last contact, what is in the way, and which group it is. */
export function Behind({ known }: { known: Lag }) {
  const w = t.group;
  const reasons: Readonly<Record<string, string>> = w.problems;
  const words = known.waiting === 0 ? w.all : w.waiting(known.waiting);
  return (
    <>
      <section class="sheet" aria-label={w.behindTitle} data-testid="group-behind">
        <h2>{w.behindTitle}</h2>
        {known.late
          ? <Notice shape="warn" id="group-late"><Waiting entries={known.waiting} photographs={known.photographs_waiting} /><p>{w.late}</p></Notice>
          : <Mark shape={known.waiting === 0 ? "done" : "wait"}>{words}</Mark>}
        {known.waiting_since && known.waiting > 0 ? <p class="small">{w.since(momentText(known.waiting_since))}</p> : null}
        <p class="small">{w.counted(known.position, known.log_position)}</p>
        {known.photographs_waiting > 0 && !known.late ? <Mark shape="wait">{w.photographs(known.photographs_waiting)}</Mark> : null}
        {known.photographs_since ? <p class="small">{w.photographsSince(momentText(known.photographs_since))}</p> : null}
        <p class="small">{known.contact_at ? w.contact(momentText(known.contact_at)) : w.noContact}</p>
        {known.tried_at && known.tried_at !== known.contact_at ? <p class="small">{w.tried(momentText(known.tried_at))}</p> : null}
      </section>
      {known.problem ? (
        <section class="sheet" aria-label={w.problemTitle} data-testid="group-problem">
          <h2>{w.problemTitle}</h2>
          <Notice shape="warn"><p>{reasons[known.problem] ?? w.failed(known.problem)}</p></Notice>
          {known.problem_since ? <p class="small">{w.problemSince(momentText(known.problem_since))}</p> : null}
        </section>
      ) : null}
      <section class="sheet" aria-label={w.aboutTitle}>
        <h2>{w.aboutTitle}</h2>
        <dl class="facts">
          <dt>{w.address}</dt><dd>{known.address}</dd>
          <dt>{w.key}</dt><dd>{known.key}</dd>
          <dt>{w.joined}</dt><dd>{momentText(known.joined_at)}</dd>
        </dl>
        <Mark shape={known.key_left ? "done" : "wait"}>{known.key_left ? w.keyLeft : w.keyNotLeft}</Mark>
      </section>
    </>
  );
}

/** At a group server: the practices, with each history of their logs. */
export function Practices({ practices }: { practices: readonly Followed[] }) {
  const w = t.group;
  const states: Readonly<Record<string, string>> = w.states;
  return (
    <section class="sheet" aria-label={w.practicesTitle} data-testid="group-practices">
      <h2>{w.practicesTitle}</h2>
      <ul class="list">{practices.map((one) => (
        <li class="item" key={one.practice_id}><span class="grow">
          <span class="strong">{one.name}</span>
          <span class="small">{one.revoked_at ? w.practiceEnded(momentText(one.revoked_at)) : one.contact_at ? w.practiceContact(momentText(one.contact_at)) : w.practiceNever}</span>
          <span class="small">{w.key} {one.key}</span>
          {one.logs.map((log) => (
            <Mark key={log.location_id} shape={log.state === "current" ? "done" : log.state === "forked" ? "warn" : "wait"}>
              {[w.log(log.position), states[log.state] ?? log.state, log.from_position > 0 ? w.parted(log.from_position) : null].filter(Boolean).join(", ")}
            </Mark>))}
        </span></li>))}</ul>
    </section>
  );
}
