/** What the engine or the server found, in the language that is shown. */
import { afterEach, beforeAll, describe, expect, it } from "vitest";
import { attempt, trouble } from "../src/screens/attempt";
import { flagText } from "../src/screens/records/flags";
import { Refused } from "../src/session/commands";
import { doseOf } from "../src/session/dosing";
import type { RecordDocument } from "../src/session/fold";
import { allWords, showLanguage } from "../src/text";

beforeAll(allWords);
afterEach(() => showLanguage("en"));

describe("settings that a case refuses", () => {
  const outcome = doseOf({ wavelength: "10.6 um", emission: { mode: "pulsed", power: "9e99 W", power_kind: "average" } } as never);
  const said = outcome.ok ? [] : Object.values(outcome.errors).flat();

  it.each([["en", "Must be from 1 µW to 1 GW."], ["es", "Tiene que estar entre 1 µW y 1 GW."]] as const)("are said in %s", async (language, words) => {
    await showLanguage(language);
    expect(said).toHaveLength(1);
    expect(await attempt(() => Promise.reject(new Refused("settings", said.join(" "), said)))).toBe(false);
    expect(trouble.value?.replaceAll("\u00a0", " ")).toContain(words);
  });
});

describe("a flag of a record", () => {
  const record = { passes: [{ event_id: "e7", number: 3 }] } as unknown as Pick<RecordDocument, "passes">;
  const flag = (code: string, event_id: string) => ({ code, text: "As the server says it.", event_id });

  it("names its pass, in the language shown", async () => {
    expect(flagText(record, flag("delivered_unchecked", "e7"))).toBe("Pass 3: the delivered dose rests on no power check of its tip.");
    await showLanguage("es");
    expect(flagText(record, flag("delivered_unchecked", "e7"))).toBe("Pasada 3: la dosis entregada no se apoya en ninguna verificación de potencia de su punta.");
  });

  it("speaks of the record where it is about no pass, and as the server does where this app has no words", () => {
    expect(flagText(record, flag("clock_wrong", "e1"))).toBe("The tablet’s clock was off by more than 5 minutes.");
    expect(flagText(record, flag("found_by_a_newer_server", "e7"))).toBe("As the server says it.");
  });
});
