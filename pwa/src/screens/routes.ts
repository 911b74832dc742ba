/** Which screen stands at which address: one line each, fetched when it is first gone to. */
import type { FunctionComponent } from "preact";
import { lazy, type Lazy, type Load } from "./lazy";

/** The names in an address: ":record_id" is text, ":record_id?" may be missing and is null then. */
type Named<Path extends string> =
  Path extends `${infer Head}/${infer Rest}` ? Named<Head> & Named<Rest>
  : Path extends `:${infer Name}?` ? { [key in Name]: string | null }
  : Path extends `:${infer Name}` ? { [key in Name]: string }
  : object;

export interface Route {
  path: string;
  /** The entry of the navigation that leads here; null where there is none to be seen. */
  under: string | null;
  screen: Lazy<Record<string, string | null>>;
}

function at<Path extends string>(path: Path, under: string | null, load: Load<Named<Path>>): Route {
  return { path, under, screen: lazy(load as Load<Record<string, string | null>>) };
}

/** The chairside tablet. Of several that fit, the first one counts. */
export const TABLET: readonly Route[] = [
  at("today", "today", () => import("./today/today").then((m) => m.Today)),
  at("plan/:record_id?", "plan", () => import("./plan/plan").then((m) => m.Plan)),
  at("compare/:record_id?", "plan", () => import("./plan/compare").then((m) => m.Compare)),
  at("case/new", null, () => import("./case/new").then((m) => m.NewCase)),
  at("case/:record_id/:view?/:event_id?", null, () => import("./case/case").then((m) => m.CaseScreen)),
  at("answer/:kind/:record_id", null, () => import("./lists/in-case").then((m) => m.ListOfRecord)),
  at("sign", "records", () => import("./records/batch").then((m) => m.Batch)),
  at("sign/:record_id/read", "records", () => import("./records/batch").then((m) => m.ReadInBatch)),
  at("sign/:record_id", "records", () => import("./records/sign").then((m) => m.Sign)),
  at("records", "records", () => import("./records/list").then((m) => m.RecordList)),
  at("records/:record_id", "records", () => import("./records/record").then((m) => m.RecordScreen)),
  at("records/:record_id/move", "records", () => import("./records/moving").then((m) => m.MoveRecord)),
  at("records/:record_id/void", "records", () => import("./records/moving").then((m) => m.VoidRecord)),
  at("records/:record_id/proof/:version?/:link?", "records", () => import("./records/proof").then((m) => m.ProofOfRecord)),
  at("practice", "practice", () => import("./practice").then((m) => m.Practice)),
  at("practice/presets/:preset_id?/:mode?/:event_id?", "practice", () => import("./presets/presets").then((m) => m.Presets)),
  at("practice/procedures/:kind_id?/:mode?", "practice", () => import("./procedure/procedures").then((m) => m.Procedures)),
  at("practice/lists/:list_id?/:mode?", "practice", () => import("./lists/practice").then((m) => m.Lists)),
  at("practice/rooms/:room_id?/:mode?", "practice", () => import("./rooms/rooms").then((m) => m.Rooms)),
  at("practice/registers/:kind?/:id?/:mode?", "practice", () => import("./register/registers").then((m) => m.Registers)),
  at("practice/maintenance/:device_id?/:id?", "practice", () => import("./upkeep/maintenance").then((m) => m.MaintenanceScreen)),
  at("practice/incidents/:incident_id?/:mode?", "practice", () => import("./upkeep/incidents").then((m) => m.Incidents)),
  at("practice/power/:device_id?/:mode?", "practice", () => import("./power/power").then((m) => m.PowerChecks)),
  at("practice/trend/:device_id?/:mode?", "practice", () => import("./trend/trend").then((m) => m.Trends)),
  at("practice/service/:device_id?/:mode?", "practice", () => import("./service/service").then((m) => m.Service)),
  at("practice/checks/:device_id?", "practice", () => import("./checks/checks").then((m) => m.Checks)),
  at("check/:device_id/:kind", null, () => import("./checks/checks").then((m) => m.MakeCheck)),
  at("settings", null, () => import("./settings/settings").then((m) => m.SettingsScreen)),
  at("settings/sessions", null, () => import("./settings/sessions").then((m) => m.OwnSessions)),
];

/** The office browser. */
export const DESK: readonly Route[] = [
  at("queue", "queue", () => import("./desk/queue").then((m) => m.Queue)),
  at("records", "records", () => import("./desk/records").then((m) => m.DeskRecords)),
  at("records/:record_id", "records", () => import("./desk/records").then((m) => m.DeskRecord)),
  at("records/:record_id/release", "records", () => import("./desk/release").then((m) => m.Release)),
  at("records/:record_id/erase", "records", () => import("./erasure/erase").then((m) => m.EraseRecord)),
  at("records/:record_id/proof/:version?/:link?", "records", () => import("./records/proof").then((m) => m.ProofOfRecord)),
  at("practice", "practice", () => import("./practice").then((m) => m.Practice)),
  at("practice/presets/:preset_id?/:mode?/:event_id?", "practice", () => import("./presets/presets").then((m) => m.Presets)),
  at("practice/procedures/:kind_id?/:mode?", "practice", () => import("./procedure/procedures").then((m) => m.Procedures)),
  at("practice/lists/:list_id?/:mode?", "practice", () => import("./lists/practice").then((m) => m.Lists)),
  at("practice/rooms/:room_id?/:mode?", "practice", () => import("./rooms/rooms").then((m) => m.Rooms)),
  at("practice/registers/:kind?/:id?/:mode?", "practice", () => import("./register/registers").then((m) => m.Registers)),
  at("practice/maintenance/:device_id?/:id?", "practice", () => import("./upkeep/maintenance").then((m) => m.MaintenanceScreen)),
  at("practice/incidents/:incident_id?/:mode?", "practice", () => import("./upkeep/incidents").then((m) => m.Incidents)),
  at("practice/power/:device_id?/:mode?", "practice", () => import("./power/power").then((m) => m.PowerChecks)),
  at("practice/trend/:device_id?/:mode?", "practice", () => import("./trend/trend").then((m) => m.Trends)),
  at("practice/service/:device_id?/:mode?", "practice", () => import("./service/service").then((m) => m.Service)),
  at("practice/checks/:device_id?", "practice", () => import("./checks/checks").then((m) => m.Checks)),
  at("check/:device_id/:kind", null, () => import("./checks/checks").then((m) => m.MakeCheck)),
  at("practice/emergency", "practice", () => import("./emergency/open").then((m) => m.OpenEmergency)),
  at("practice/emergency/elsewhere", "practice", () => import("./emergency/elsewhere").then((m) => m.EmergencyElsewhere)),
  at("practice/locations/:mode?", "practice", () => import("./locations/locations").then((m) => m.Locations)),
  at("practice/people/:person_id?/:mode?", "practice", () => import("./people/people").then((m) => m.People)),
  at("practice/sessions", "practice", () => import("./settings/sessions").then((m) => m.LocationSessions)),
  at("practice/tablets/:tablet_id?", "practice", () => import("./tablets/tablets").then((m) => m.Tablets)),
  at("practice/aside/:tablet_id?", "practice", () => import("./aside/aside").then((m) => m.Aside)),
  at("practice/backup", "practice", () => import("./backups/backups").then((m) => m.Backups)),
  at("practice/group", "practice", () => import("./group/group").then((m) => m.Group)),
  at("practice/group/offers/:offer_id", "practice", () => import("./group/offer").then((m) => m.OneOffer)),
  at("practice/erasures", "practice", () => import("./erasure/erasures").then((m) => m.Erasures)),
  at("practice/log", "practice", () => import("./access-log/access-log").then((m) => m.AccessLog)),
  at("settings", null, () => import("./settings/settings").then((m) => m.SettingsScreen)),
  at("settings/sessions", null, () => import("./settings/sessions").then((m) => m.OwnSessions)),
  at("settings/secrets", null, () => import("./settings/secrets").then((m) => m.Secrets)),
];

export interface Found { route: Route; named: Record<string, string | null>; screen: FunctionComponent<Record<string, string | null>> }

/** The route that `parts` of an address lead to; an unknown address leads to the first one. */
export function find(routes: readonly Route[], parts: readonly string[]): Found {
  for (const route of routes) {
    const named = match(route.path.split("/"), parts);
    if (named) return { route, named, screen: route.screen };
  }
  return { route: routes[0]!, named: {}, screen: routes[0]!.screen };
}

function match(path: readonly string[], parts: readonly string[]): Record<string, string | null> | null {
  const named: Record<string, string | null> = {};
  for (const [i, step] of path.entries()) {
    const part = parts[i];
    if (step.startsWith(":")) {
      if (part === undefined && !step.endsWith("?")) return null;
      named[step.replace(/^:|\?$/g, "")] = part ?? null;
    } else if (part !== step) return null;
  }
  return parts.length <= path.length ? named : null;
}

/** Fetch what has not been fetched yet while nobody waits for it, so that a tap is answered at once. */
export function fetchAhead(routes: readonly Route[]): void {
  const idle = globalThis.requestIdleCallback ?? ((work: () => void) => setTimeout(work, 200));
  const next = (i: number) => {
    const route = routes[i];
    if (route) idle(() => void route.screen.load().then(() => next(i + 1)));
  };
  next(0);
}
