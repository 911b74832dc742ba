/** People in words. */
import { houseZone } from "../../session/house_lists";
import { localDay } from "../../session/lists";
import type { Person } from "../../session/types";
import { t } from "../../text";

export const rolesText = (roles: readonly string[]): string => roles.map((one) => t.people.roles[one] ?? one).join(", ");

export const today = (): string => localDay(Date.now(), houseZone());

/** Whether an auditor's last day is past, or was never said. */
export const auditorOver = (person: Pick<Person, "auditor_until">): boolean => !person.auditor_until || person.auditor_until < today();
