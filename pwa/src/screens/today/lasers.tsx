import { Mark } from "../../parts/basics";
import { ageDays, ageText, dateText } from "../../parts/dates";
import { checksOf } from "../../session/checks";
import { house } from "../../session/house";
import type { Device, Verification } from "../../session/types";
import { t } from "../../text";
import { percent } from "../facts";
import { href } from "../route";
import { VerdictMark } from "../verdict";
import { TodaysMark } from "./glance";

/** Power checks are due weekly: this project's own choice. */
const DUE_DAYS = 7;

/** Each laser with its last power check of each tip and emission: the verdict first, then how old it is. */
export function Lasers() {
  return (
    <section class="stack" aria-label={t.today.lasers}>
      <h2>{t.today.lasers}</h2>
      {house.value.devices.length === 0 ? <p class="soft">{t.today.noLasers}</p> : null}
      {house.value.devices.map((d) => <Laser key={d.device_id} device={d} />)}
      <p class="small soft">{t.today.ratioLead} {t.today.doNotRaise}</p>
    </section>
  );
}

function Laser({ device }: { device: Device }) {
  const checks = checksOf(device.device_id);
  return (
    <article class="sheet laser" data-testid="laser">
      <h3>{device.label} <span class="soft small">{device.serial}</span></h3>
      <TodaysMark device={device} />
      {checks.length === 0 ? <Mark shape="warn">{t.today.notVerified}</Mark> : checks.map((c) => <Check key={c.verification_id} check={c} />)}
      <a class="button quiet" href={href("practice", "power", device.device_id)} data-testid="laser-checks">{t.power.title}</a>
    </article>
  );
}

function Check({ check }: { check: Verification }) {
  const tip = house.value.handpieces.find((h) => h.handpiece_id === check.handpiece_id)?.label ?? "";
  const now = Date.now();
  return (
    <div class="check" data-testid="laser-check">
      <VerdictMark verdict={check.verdict} id="laser-verdict" />
      <span class="strong num" data-testid="laser-ratio">{percent(check.ratio)}</span>
      <span class="small" data-testid="laser-age">{t.today.checked(dateText(check.verified_at), ageText(check.verified_at, now))}</span>
      <span class="small soft">{tip}, {t.today.forMode(t.plan.modes[check.mode] ?? check.mode)}</span>
      {check.verdict === "fail" ? <span class="small strong">{t.today.failedCheck}</span> : null}
      {ageDays(check.verified_at, now) > DUE_DAYS ? <Mark shape="wait" id="laser-due">{t.today.overdue}</Mark> : null}
    </div>
  );
}
