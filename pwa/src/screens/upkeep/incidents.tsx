import { Glyph, Notice } from "../../parts/basics";
import { may } from "../../session/rights";
import { incidents } from "../../session/upkeep";
import { t } from "../../text";
import { useRegisters } from "../registers";
import { href } from "../route";
import { FirstAid } from "./first-aid";
import { IncidentForm } from "./incident-form";
import { OneIncident } from "./incident";
import { IncidentMark, titleOf } from "./mark";

/** What went wrong here: all of it, one, or saying so; first aid stands before everything else. */
export function Incidents({ incident_id, mode }: { incident_id: string | null; mode: string | null }) {
  const ready = useRegisters();
  // First aid does not wait for anything.
  if (ready !== true) return <div class="page"><FirstAid />{ready ? <Notice shape="warn" live><p>{ready}</p></Notice> : <p role="status">{t.common.loading}</p>}</div>;
  const found = incidents.value.find((one) => one.incident_id === incident_id);
  if (may("incident.write") && (incident_id === "new" || (found && mode === "change"))) return <IncidentForm key={incident_id} from={found ?? null} record_id={incident_id === "new" ? mode : null} />;
  return found ? <OneIncident key={found.incident_id} incident={found} /> : <AllIncidents />;
}

function AllIncidents() {
  const w = t.upkeep;
  return (
    <div class="page">
      <h1>{w.incidents}</h1>
      <p class="soft">{w.incidentsLead}</p>
      {may("incident.write") ? <a class="button main large" href={href("practice", "incidents", "new")} data-testid="incident-new">{w.helpFirst}</a> : null}
      {incidents.value.length === 0 ? <p class="soft">{w.noIncidents}</p> : null}
      <ul class="list">{incidents.value.map((one) => (
        <li key={one.incident_id}><a class="item" href={href("practice", "incidents", one.incident_id)} data-testid="incident">
          <span class="grow"><span class="strong">{titleOf(one)}</span><span class="small">{one.what}</span><IncidentMark incident={one} /></span><Glyph shape="turn" /></a></li>
      ))}</ul>
      <a class="button quiet" href={href("practice")}>{t.common.nav.practice}</a>
    </div>
  );
}
