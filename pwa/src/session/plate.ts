/** One laser under several ids, known by its plate. Pure; mirror of `api/devices/plate.py`, where the reasons stand. */
import { byText } from "./by_text";

type Plated = Readonly<{ device_id: string; maker?: unknown; model?: unknown; serial?: unknown }>;

const plain = (text: unknown): string => String(text ?? "").normalize("NFC").toLowerCase().replace(/[^\p{L}\p{N}]/gu, "");

/** Maker, model and serial number, however they were typed, as one text; null without a number. */
export function plate({ maker, model, serial }: Omit<Plated, "device_id">): string | null {
  return plain(serial) ? JSON.stringify([maker, model, serial].map(plain)) : null;
}

/** Every id of one laser, its own first. */
export function underAllIds(devices: readonly Plated[], device_id: string): string[] {
  const known = devices.find((one) => one.device_id === device_id);
  const own = known ? plate(known) : null;
  const twins = own === null ? [] : devices.filter((one) => one.device_id !== device_id && plate(one) === own);
  return [device_id, ...twins.map((one) => one.device_id).sort(byText)];
}
