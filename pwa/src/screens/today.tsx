import { Glyph, Mark, Notice, Press } from "../parts/basics";
import { ageDays, ageText, dateText, momentText, timeText } from "../parts/dates";
import { checksOf, house } from "../session/house";
import { allRecords, captureOnly, enrolled, openRecords, ownRecords, person, status, unsigned, writing } from "../session/state";
import type { Device, Verification } from "../session/types";
import { syncNow } from "../sync/service";
import { t } from "../text";
import { percent } from "./facts";
import { ListsToRead } from "./lists/to-read";
import { go, href } from "./route";
import { UpdateOffer } from "./update";

const DUE_DAYS = 7;

export function Today() {
  const open = openRecords.value;
  const waiting = captureOnly.value ? ownRecords.value.filter((r) => r.status === "ended") : unsigned.value;
  void allRecords.value;
  return (
    <div class="page">
      <header class="stack">
        <h1>{t.today.title}, {dateText(new Date().toISOString())}</h1>
        <p class="soft small">{t.today.hello(person.value!.display_name, enrolled.value?.location_name ?? "")}</p>
      </header>
      <UpdateOffer />
      {captureOnly.value ? <Notice calm><p>{t.records.offlinePast}</p></Notice> : null}
      <div class="two">
        <div class="stack">
          {open.map((r) => (
            <section class="sheet running" key={r.record_id} data-testid="open-case">
              <h2>{t.today.openCase}</h2>
              <p>{r.patient?.chart_number} {r.patient?.second_identifier} · {r.procedure?.text}, {r.site}</p>
              <Press id="open-case-go" kind="main" large wide onPress={() => go("case", r.record_id)}>{t.today.goOn}</Press>
            </section>
          ))}
          {open.length === 0
            ? <Press id="new-case" kind="main" large wide disabled={!writing.value} onPress={() => go("plan")}>{t.today.newCase}</Press>
            : null}
          <ListsToRead />
          <section class="stack" aria-label={t.today.unsigned}>
            <h2>{t.today.unsigned}</h2>
            {waiting.length === 0 ? <p class="soft" data-testid="no-unsigned">{t.today.noUnsigned}</p> : (
              <ul class="list">{waiting.map((r) => (
                <li key={r.record_id}><a class="item" href={href("sign", r.record_id)} data-testid="unsigned-record">
                  <span class="grow"><span class="strong">{r.patient?.chart_number} {r.patient?.second_identifier}</span>
                    <span class="small">{r.procedure?.text}, {momentText(r.started_at)}</span></span><Glyph shape="turn" /></a></li>
              ))}</ul>
            )}
          </section>
          <SyncState />
        </div>
        <section class="stack" aria-label={t.today.lasers}>
          <h2>{t.today.lasers}</h2>
          {house.value.devices.length === 0 ? <p class="soft">{t.today.noLasers}</p> : null}
          {house.value.devices.map((d) => <Laser key={d.device_id} device={d} />)}
          <p class="small soft">{t.today.doNotRaise}</p>
        </section>
      </div>
      <p class="small soft">{t.common.caution}</p>
    </div>
  );
}

function Laser({ device }: { device: Device }) {
  const checks = checksOf(device.device_id);
  return (
    <article class="sheet" data-testid="laser">
      <h3>{device.label} <span class="soft small">{device.serial}</span></h3>
      {checks.length === 0 ? <Mark shape="warn">{t.today.notVerified}</Mark> : checks.map((c) => <Check key={c.verification_id} check={c} />)}
    </article>
  );
}

function Check({ check }: { check: Verification }) {
  const tip = house.value.handpieces.find((h) => h.handpiece_id === check.handpiece_id)?.label ?? "";
  const shape = check.verdict === "ok" ? "done" : check.verdict === "warn" ? "warn" : "stop";
  const now = Date.now();
  return (
    <div class="stack" data-testid="laser-check">
      <p class="small soft">{tip}, {t.today.forMode(t.plan.modes[check.mode] ?? check.mode)}</p>
      <p class="row base"><span class="setting" data-testid="laser-ratio">{percent(check.ratio)}</span>
        <Mark shape={shape} id="laser-verdict">{t.today.verdict[check.verdict] ?? check.verdict}</Mark></p>
      <p class="small">{t.today.ratio(percent(check.ratio))}. {t.today.checked(dateText(check.verified_at), ageText(check.verified_at, now))}.</p>
      {check.verdict === "fail" ? <p class="small strong">{t.today.failedCheck}</p> : null}
      {ageDays(check.verified_at, now) > DUE_DAYS ? <Mark shape="wait">{t.today.overdue}</Mark> : null}
    </div>
  );
}

function SyncState() {
  const s = status.value;
  return (
    <section class="sheet" aria-live="polite" data-testid="sync-state">
      <Mark shape={s.online ? "done" : "tablet"}>{s.online ? t.common.sync.online : t.common.sync.offline}</Mark>
      <p class="small" data-testid="sync-waiting">{s.waiting > 0 ? t.common.sync.waiting(s.waiting) : t.common.sync.nothingWaits}</p>
      <p class="small soft">{s.last_contact ? t.common.sync.last(`${dateText(s.last_contact)}, ${timeText(s.last_contact)}`) : t.common.sync.never}</p>
      {s.attention ? <Notice shape="warn" id="sync-attention"><p>{s.attention.text}</p></Notice> : null}
      <Press id="sync-now" onPress={() => void syncNow()} disabled={s.syncing}>{s.syncing ? t.common.sync.busy : t.common.sync.now}</Press>
    </section>
  );
}
