/** What a desk asks about the locations of the practice, and about people of one's other locations. */

import { askJson } from "./client";

export interface LocationSummary { location_id: string; name: string; zone: string; opened_at: string }
export interface OtherPlace { location_id: string; name: string }
/** Somebody who works at another location that one looks after, and how many credentials would come along. */
export interface KnownElsewhere {
  person_id: string; display_name: string; initials: string; credential: string | null; credentials: number;
  locations: { location_id: string; name: string; roles: string[] }[];
}
export interface Joining {
  display_name: string; initials: string; roles: string[]; credential: string | null; auditor_until: string | null; with_credentials: boolean;
}

/** Go on at another location where one works. */
export async function goToLocation(location_id: string): Promise<void> {
  await askJson<object>("session/location", { body: { location_id } });
}

/** The locations whose administrator one is. */
export async function myLocations(): Promise<LocationSummary[]> {
  return (await askJson<{ locations: LocationSummary[] }>("locations")).locations;
}

/** Open a location; the same `key` again opens it once. */
export async function openLocation(name: string, zone: string, key: string): Promise<LocationSummary> {
  return askJson("locations", { body: { name, zone }, headers: { "Idempotency-Key": key } });
}

export async function peopleElsewhere(): Promise<KnownElsewhere[]> {
  return (await askJson<{ people: KnownElsewhere[] }>("people-elsewhere")).people;
}

/** Register somebody of another location here; the same `key` again does it once. */
export async function joinPerson(person_id: string, said: Joining, key: string): Promise<void> {
  await askJson<object>(`people-elsewhere/${encodeURIComponent(person_id)}`, { body: said, headers: { "Idempotency-Key": key } });
}

/** The practice's locations where one does not work. */
export async function otherLocations(): Promise<OtherPlace[]> {
  return (await askJson<{ locations: OtherPlace[] }>("emergencies/locations")).locations;
}

/** Go to such a location in an emergency, to read there for an hour. */
export async function openEmergencyElsewhere(location_id: string, reason: string, key: string): Promise<void> {
  await askJson<object>("emergencies/elsewhere", { body: { location_id, reason }, headers: { "Idempotency-Key": key } });
}
