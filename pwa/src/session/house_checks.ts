/** The checks of this house's lasers by their lists, as they count here and now. */
import { computed } from "@preact/signals";
import { newId } from "../events/ids";
import type { DeviceChecked } from "../events/catalogue";
import { say } from "./commands_house";
import { CHECKED, withOwn, type DeviceCheck } from "./device-checks";
import { house } from "./house";
import { lists } from "./house_lists";
import { eventsOf, writtenAbout } from "./written";

export const deviceChecks = computed<readonly DeviceCheck[]>(() =>
  withOwn(house.value.deviceChecks, writtenAbout([CHECKED]).flatMap(eventsOf), lists.value));

/** Write down a check. The same `key` again, after a try without an answer, does it once. */
export async function noteCheck(said: DeviceChecked, key: string = newId()): Promise<string> {
  await say({ type: CHECKED, entity_id: key, payload: said }, key);
  return key;
}
