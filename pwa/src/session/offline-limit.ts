/** The practice's limit for tablets without the server, as its administrator sees and sets it. */
import { OFFLINE_DAYS } from "../store/identity";
import { say } from "./commands_house";
import type { Place } from "./types";

export const OFFLINE_DAYS_OFFERED = [1, 3, 7, 14, 30] as const;

export const offlineDaysOf = (place: Place): number => place.offline_days ?? OFFLINE_DAYS.first;

export async function setOfflineDays(place: Place, offline_days: number, key: string): Promise<void> {
  await say({ type: "location.offline_limit_set", entity_id: place.location_id, payload: { offline_days } }, key);
}
