/** What may be done with what a group offers, beside taking it over: that is publishing it. */
import { say } from "./commands_house";

/** Decline an offer; it stays to be seen, here and at the group, with the reason. */
export async function declineOffer(kind: "list" | "preset", offer_id: string, reason: string): Promise<void> {
  await say({ type: `${kind}.offer_declined`, entity_id: offer_id, payload: { reason } });
}
