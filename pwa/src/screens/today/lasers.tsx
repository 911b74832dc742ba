import { Mark } from "../../parts/basics";
import { ageText, dateText } from "../../parts/dates";
import { checksOf } from "../../session/checks";
import { isDueAgain } from "../../session/due";
import { house } from "../../session/house";
import { houseZone } from "../../session/house_lists";
import { rulesNow } from "../../session/registers";
import type { Device, Verification } from "../../session/types";
import { t } from "../../text";
import { percent } from "../facts";
import { everyText } from "../register/every";
import { href } from "../route";
import { VerdictMark } from "../verdict";
import { TodaysMark } from "./glance";

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

const tipOf = (handpiece_id: string) => house.value.documents["handpiece"]?.find((one) => one["handpiece_id"] === handpiece_id);
const isRetired = (handpiece_id: string): boolean => tipOf(handpiece_id)?.["status"] === "retired";

function Laser({ device }: { device: Device }) {
  const all = checksOf(device.device_id);
  const current = all.filter((one) => !isRetired(one.handpiece_id));
  // The last of a tip that is retired says something as long as there is nothing newer.
  const checks = current.length > 0 ? current : all;
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
  const tip = String(tipOf(check.handpiece_id)?.["label"] ?? "");
  const now = Date.now();
  const rule = rulesNow()["power_check"]!;
  return (
    <div class="check" data-testid="laser-check">
      <VerdictMark verdict={check.verdict} id="laser-verdict" />
      <span class="strong num" data-testid="laser-ratio">{percent(check.ratio)}</span>
      <span class="small" data-testid="laser-age">{t.today.checked(dateText(check.verified_at), ageText(check.verified_at, now))}</span>
      <span class="small soft">{tip}, {t.today.forMode(t.plan.modes[check.mode] ?? check.mode)}</span>
      {check.verdict === "fail" ? <span class="small strong">{t.today.failedCheck}</span> : null}
      {isDueAgain(check.verified_at, rule, now, houseZone()) ? <Mark shape="wait" id="laser-due">{t.today.overdue(everyText(rule))}</Mark> : null}
    </div>
  );
}
