import { Mark } from "../../parts/basics";
import { momentText } from "../../parts/dates";
import { house } from "../../session/house";
import type { Incident } from "../../session/upkeep";
import { t } from "../../text";

export function titleOf(one: Incident): string {
  const laser = house.value.devices.find(({ device_id }) => device_id === one.device_id)?.label;
  return [t.upkeep.kinds[one.kind] ?? one.kind, momentText(one.happened_at), laser].filter(Boolean).join(", ");
}

export function IncidentMark({ incident }: { incident: Incident }) {
  const w = t.upkeep;
  if (incident.status === "closed") return <Mark shape="done">{w.closed}</Mark>;
  if (incident.open_points.length === 0) return <Mark shape="wait">{w.toClose}</Mark>;
  return <>{incident.open_points.map((point) => <Mark key={point} shape={point === "action_open" ? "wait" : "warn"}>{w.points[point]}</Mark>)}</>;
}
