/** The same facts as the curves of a simulation show, as sentences. */
import { format_number, format_value } from "../../dose/display";
import { localNumbers, t } from "../../text";
import { unbroken } from "../quantity-text";
import { type HeatCurves, overTime } from "./heat-shapes";

export const celsiusText = (cel: number): string => `${localNumbers(format_number(cel))}\u00a0°C`;
export const depthText = (um: number): string => unbroken(localNumbers(format_value("cut_depth", um / 1000)));
export const timeText = (s: number): string => unbroken(localNumbers(format_value("dwell_time", s)));

/** What happens at the surface over time. */
export function timeSentences(curves: HeatCurves): string[] {
  const w = t.heat;
  const { times_s, surface_cel, residual_cel, removed_um, valid_until_s } = curves;
  const last_s = times_s[times_s.length - 1] ?? 0;
  const residual = residual_cel[residual_cel.length - 1];
  return [
    w.highest(celsiusText(Math.max(...surface_cel))),
    w.atEnd(timeText(last_s), celsiusText(surface_cel[surface_cel.length - 1] ?? 37)),
    ...(residual === undefined ? [] : [w.beforeLast(celsiusText(residual))]),
    removed_um > 0 ? w.removed(depthText(removed_um)) : w.nothingRemoved,
    ...(overTime(curves).two_lines ? [w.twoLines] : []),
    ...(valid_until_s < last_s ? [w.outside(timeText(valid_until_s))] : []),
  ];
}

/** What is left below the surface at the end. */
export function depthSentences({ damage_um, measured_um }: HeatCurves): string[] {
  const w = t.heat;
  return [
    damage_um > 0 ? w.damage(depthText(damage_um)) : w.noDamage,
    w.measured(depthText(measured_um[0]), depthText(measured_um[1])),
  ];
}
