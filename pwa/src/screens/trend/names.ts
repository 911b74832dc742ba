import { house } from "../../session/house";
import { t } from "../../text";

export const tipName = (handpiece_id: string): string => house.value.handpieces.find((one) => one.handpiece_id === handpiece_id)?.label ?? "";
export const nameOf = ({ handpiece_id, mode }: { handpiece_id: string; mode: string }): string => t.trend.power(tipName(handpiece_id), t.plan.modes[mode] ?? mode);
