/** What the server tells of backups, the group and erasing, in states that seldom come. */
import { Last, Late, Restored } from "../../src/screens/backups/parts";
import { Course } from "../../src/screens/erasure/erase";
import { Behind, Practices } from "../../src/screens/group/group";
import { LateGroup } from "../../src/screens/group/late";
import { Shown } from "../../src/screens/group/offer";
import { Offers } from "../../src/screens/group/offers";
import type { Told } from "../../src/sync/erasures";
import type { Behind as Lag } from "../../src/sync/replication";
import type { Offer } from "../../src/sync/rollouts";
import { t } from "../../src/text";

const AT = "2026-03-02T09:05:00.000+00:00", BEFORE = "2026-02-20T18:00:00.000+00:00";
const WHO = "Ash Standin";
const done = async () => undefined;

const backups = { last_verified: BEFORE, age_s: 9.6 * 86_400, late: true, outside: 214, tries: [], restored: null };
const restored = () => ({
  at: AT, backup_made_at: BEFORE, who: WHO, why: t.records.addendumSaved,
  returning: [{ tablet_id: "a", label: "Room 1", named: 12, came: 5 }, { tablet_id: "b", label: null, named: 3, came: 3 }],
});
const behind: Lag = {
  address: "https://group.example", key: "5f2c 81d0 9b7e 4a63", joined_at: BEFORE, key_left: false, log_position: 914, position: 700, waiting: 214, waiting_since: BEFORE,
  contact_at: BEFORE, tried_at: AT, problem: "group_unreachable", problem_since: BEFORE, late: true, photographs_waiting: 3, photographs_since: BEFORE,
};
const logs = ["current", "forked", "waiting"].map((state, n) => ({ location_id: state, state, position: 914 - n, from_position: n * 300, received_at: AT }));
const practices = [
  { practice_id: "p", name: "Lantern Dental", key: "5f2c 81d0", contact_at: AT, revoked_at: null, logs },
  { practice_id: "q", name: "Pier Dental", key: "77aa 0b1c", contact_at: null, revoked_at: AT, logs: [] },
];

const list = (): Offer => ({
  offer_id: "offer-1", kind: "list", source_id: "theirs", version: 3, title: "Time-out", effective_from: "2030-01-01", note: t.records.addendumSaved,
  list: { kind: "timeout", title: "Time-out", items: [{ item_id: "a", text: t.case.consent, group: null, why: null, not_applicable: "plain" }], needs_acknowledgement: true, within_s: null },
  row: null, made_at: BEFORE, made_by: WHO, group_name: "Lantern", group_key: "5f2c 81d0", received_at: AT,
  state: "open", answered: null, answered_by_name: null, subject_id: null, settings: null, preset: null, errors: {},
});
const preset = (): Offer => ({
  ...list(), offer_id: "offer-2", kind: "preset", title: "Frenum, fine", list: null, note: null, effective_from: null, errors: { laser: ["is not known here"] },
  row: { name: "Frenum, fine", spot_known: "label", focus: "focused", coolant: "none", laser: "Arm laser", handpiece: "0.25 mm", procedure: "Frenum" },
  settings: { wavelength: "10.6 um", emission: { mode: "continuous", power: "4 W" } } as never,
});
const declined = (): Offer => ({
  ...list(), offer_id: "offer-3", state: "declined", answered: { at: AT, reason: t.records.addendumSaved, version: null, subject_id: null }, answered_by_name: WHO,
});

const erasure = (): Told => ({
  record_id: "r", status: "asked", declined: null, erased: null, entries: 14, photographs: 2, rewritten: false,
  asked: { by: "a", at: BEFORE, basis: "request", citation: "House rule 7", reason: t.records.addendumSaved, override: t.records.addendumSaved },
});
const erased = (rewritten: boolean): Told => ({
  ...erasure(), status: "erased", rewritten, erased: { by: "b", asked_by: "a", at: AT, basis: "request", citation: "House rule 7", position: 915 },
});

export function ToldOfBackups() {
  return <><Late age_s={9.6 * 86_400} at_desk /><Late age_s={null} at_desk={false} /><Last known={backups} /><Last known={{ ...backups, age_s: 3600, late: false, outside: 0 }} /><Restored restored={restored()} /></>;
}
export function ToldOfTheGroup() {
  return <><LateGroup waiting={214} photographs={3} at_desk /><LateGroup waiting={0} photographs={1} at_desk={false} /><Behind known={behind} /><Practices practices={practices} /></>;
}
export function Offered() {
  return <><Offers offers={[list(), preset(), declined()]} />{[list(), preset(), declined()].map((one) => <Shown key={one.offer_id} offer={one} again={done} />)}</>;
}
export function Erasing() {
  const refused: Told = { ...erasure(), status: "declined", declined: { by: "b", at: AT, reason: t.records.addendumSaved } };
  return <><Course told={erasure()} /><Course told={refused} /><Course told={erased(false)} /><Course told={erased(true)} /></>;
}
