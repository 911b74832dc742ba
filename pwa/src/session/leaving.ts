/** What the house says of whoever is signed in: other roles count at once, and who left is out. */
import { effect } from "@preact/signals";
import { house } from "./house";
import { rolesNow } from "./rights";
import { lock, person, seat } from "./state";

/** On a tablet; a desk asks the server each time. */
export function watchLeaving(): void {
  effect(() => {
    const who = person.value;
    if (seat.value !== "tablet" || !who) return;
    if (house.value.left.some((one) => one.person_id === who.person_id)) return lock();
    const known = house.value.people.find((one) => one.person_id === who.person_id);
    if (!known) return;
    const roles = rolesNow(known);
    if (JSON.stringify(roles) !== JSON.stringify(who.roles)) person.value = { ...who, roles };
  });
}
