/** At a desk: which location is shown, and going on at another one. */
import { signal } from "@preact/signals";
import { onMoved } from "../sync/client";
import { deskSession } from "../sync/desk";
import { goToLocation } from "../sync/places";
import { person, place, places, seat, takeDesk } from "./state";

/** This browser went on to another location in another tab: what this one shows is not where it works. */
export const movedOn = signal(false);

/** Whether the person is here in an emergency only, at a location where they have no role. */
export const guest = (): boolean => seat.value === "desk" && place.value !== null && !places.value.some((one) => one.location_id === place.value!.location_id);

/** Go on at another location. The page begins anew there; throws Refused or NoAnswer. */
export async function goTo(location_id: string): Promise<void> {
  await goToLocation(location_id);
  await takeSession();
}

/** Take what the server says of who is signed in, and where. */
export async function takeSession(): Promise<void> {
  const session = await deskSession();
  if (session) takeDesk(session as never);
}

export function watchPlaces(): void {
  onMoved(() => { movedOn.value = true; });
  document.addEventListener("visibilitychange", () => {
    if (document.visibilityState !== "visible" || seat.value !== "desk" || !person.value || !place.value?.location_id) return;
    void deskSession().then((session) => {
      const there = (session?.location as { location_id?: string } | null | undefined)?.location_id;
      if (there && there !== place.value?.location_id) movedOn.value = true;
    }, () => undefined);
  });
}
