/** A laser out of service, who was treated with it, and a log that is not the one a tablet followed. */
import { Case } from "../../src/screens/service/exposed";
import { Out } from "../../src/screens/service/mark";
import { Alarm } from "../../src/screens/tablets/witness-alarms";
import type { Cause, ServiceState } from "../../src/session/service-state";
import type { ExposedCase, Window } from "../../src/sync/exposed";
import { t } from "../../src/text";

const AT = "2026-03-02T09:05:00.000+00:00", BEFORE = "2026-02-20T18:00:00.000+00:00";

const cause = (said: Partial<Cause>): Cause => ({ event_id: JSON.stringify(said), from: AT, at: AT, by: null, ...said }) as Cause;
const CAUSES = [
  cause({ kind: "verification", ratio: "0.7", meter_uncertainty: "0.05", handpiece_id: "0.25 mm", mode: "pulsed" }),
  cause({ kind: "check", title: "Start", items: ["Interlock", "Footswitch"] }),
  cause({ kind: "taken_out", reason_code: "damage", reason: "FH-000117" }),
];
const out = (causes: Cause[], key_held_by: string | null): ServiceState => ({ in_service: false, since: AT, causes, ended: [], key_held_by, asked: null });

const checked = (at: string, ratio: string) => ({ event_id: at, at, handpiece_id: "a", mode: "pulsed", ratio, meter_uncertainty: "0.05" });
const window = (said: Partial<Window>): Window => ({
  failed: checked(AT, "0.7"), passed: checked(BEFORE, "0.96"), same: true, passes: [1, 2], ratio_least: "0.7", ratio_most: "0.96",
  set_energy_j: 42, least_energy_j: 29.4, most_energy_j: 40.3, ...said,
});
const exposed = (said: Partial<ExposedCase>): ExposedCase => ({
  record_id: "r", location_id: "l", location_name: null, status: "signed", started_at: BEFORE, chart_number: "Q-1", second_identifier: "AB",
  procedure_text: "Frenum", site: "11", operator_name: "Ash Standin", windows: [], service: null, reasons: [], causes: [], ...said,
});

export function OutOfServiceStates() {
  return <><Out state={out(CAUSES, "Ash Standin")} to="#service" /><Out state={out(CAUSES.slice(0, 1), null)} to={null} /></>;
}

export function ExposedStates() {
  const nothing = { ratio_least: null, ratio_most: null, set_energy_j: null, least_energy_j: null, most_energy_j: null };
  return (
    <ul class="list">
      <Case one={exposed({ windows: [window({})] })} />
      <Case one={exposed({ windows: [window({ passed: null, ...nothing })], status: "ended", location_name: "Pier" })} />
      <Case one={exposed({ windows: [window({ same: false, ...nothing })], status: "void" })} />
      <Case one={exposed({ service: "overridden", reasons: [t.records.addendumSaved] })} />
      <Case one={exposed({ service: "not_known" })} />
    </ul>
  );
}

export function Witnessed() {
  return <Alarm alarm={{ alarm_id: "a", tablet_id: "none", position: 914, at: AT, expected: "5f2c81d09b7e4a63", found: "77aa0b1c2d3e4f50" } as never} />;
}
