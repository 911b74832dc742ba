/** The same facts as the drawing of a pulse train shows, as sentences. */
import { format_value } from "../../dose/display";
import { localNumbers, t } from "../../text";
import { unbroken } from "../quantity-text";
import { type Laid, pulseTrain, type TrainFrame } from "./pulse-shapes";
import { type Emission, gatedPulses } from "./pulse-times";

const text = (name: string, value: number): string => unbroken(localNumbers(format_value(name, value)));
export const timeText = (seconds: number): string => text("off_time", seconds);
export const powerText = (watts: number): string => text("average_power", watts);

export function pulseSentences(emission: Emission, frame: TrainFrame | null = null): string[] {
  const w = t.drawing;
  const { pulse_duration_s: on, pulse_period_s: period, gate_on_s: gate_on, gate_off_s: gate_off, peak_power_w: peak, average_power_w: average } = emission;
  const train = pulseTrain(emission, frame);
  if (!train) return [w.continuous(peak === null && average === null ? null : powerText((peak ?? average)!))];
  const pulsed = on !== null && period !== null;
  const said: string[] = [];
  if (pulsed) said.push(w.pulses(timeText(on), timeText(period)));
  if (gate_on !== null) said.push(w.gate(timeText(gate_on), timeText(gate_off ?? 0)));
  if (pulsed && gate_on !== null) {
    const { started, last_s } = gatedPulses({ pulse_duration_s: on, pulse_period_s: period, gate_on_s: gate_on });
    said.push(w.perGate(started));
    if (last_s < on * (1 - 1e-6)) said.push(w.lastCut(timeText(last_s)));
  }
  if (peak !== null) said.push(`${w.peak(powerText(peak))}.`);
  if (average !== null) said.push(`${w.average(powerText(average))}.`);
  if (peak === null) said.push(w.powerUnknown);
  const { pulse_shape } = emission;
  if (pulsed && pulse_shape !== "rectangular") said.push(w.shape);
  said.push(w.shown(timeText(train.shown_s)));
  said.push(train.to_scale ? w.toScale : w.broken(brokenText(train.stretches, train.pulses_left_out, gate_on !== null)));
  return said;
}

function brokenText(stretches: readonly Laid[], left_out: number, gated: boolean): string {
  const w = t.drawing;
  const cut = stretches.filter((one) => one.cut);
  const length = (one: Laid) => one.to_s - one.from_s;
  const said: string[] = [];
  const last = stretches[stretches.length - 1]!;
  const pauses = cut.filter((one) => !one.on && !(gated && one === last));
  const pulse = cut.find((one) => one.on);
  const short = left_out > 0 ? pauses.reduce<Laid | undefined>((least, one) => (least && length(least) <= length(one) ? least : one), undefined) : pauses[0];
  if (short && pauses.length > (left_out > 0 ? 1 : 0)) said.push(w.cutPause(timeText(length(short))));
  if (pulse) said.push(w.cutPulse(timeText(length(pulse))));
  if (left_out > 0) said.push(w.leftOut(left_out));
  if (gated && last.cut && !last.on) said.push(w.cutGatePause(timeText(length(last))));
  return said.length > 1 ? `${said.slice(0, -1).join(", ")}${w.and}${said[said.length - 1]}` : said.join("");
}
