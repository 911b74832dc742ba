/** Names of people at a desk, which holds no register. */
import { signal } from "@preact/signals";
import { deskRegister } from "../../sync/desk";
import { t } from "../../text";

const names = signal<Readonly<Record<string, string>>>({});

export async function deskNames(): Promise<void> {
  const people = (await deskRegister("person")) as { person_id: string; display_name: string }[];
  names.value = Object.fromEntries(people.map((one) => [one.person_id, one.display_name]));
}

export const nameAtDesk = (person_id: string | null): string =>
  person_id === null ? t.erasure.onServer : names.value[person_id] ?? t.common.unknownPerson;
