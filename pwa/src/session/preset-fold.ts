/**
 * What has been said about one preset -> its document. Pure. Mirror of `api/presets/fold.py`; both
 * are held to `tests/vectors/presets.json`.
 */
import type { Preset, PresetDocument, PresetVersion } from "./types";

export interface Said {
  event_id: string;
  body: {
    type: string; entity_id: string; occurred_at: string; actor_id: string | null;
    base_version: number | null; corrects: string | null;
  };
  payload: object;
}
export type Verdict = "applied" | "conflict";

/** A document as it is made now; the first ones kept no versions but the one in force. */
export function lifted(known: PresetDocument): PresetDocument {
  const whole = { ...empty(known.preset_id), ...known };
  return whole.versions.length > 0 || whole.version == null ? whole : { ...whole, versions: [whole as PresetVersion] };
}

const empty = (preset_id: string): PresetDocument => ({
  preset_id, status: "draft", withdrawn: null, versions: [], drafts: [], set_aside: [], withdrawals: [],
});

/** The document after one more entry. */
export function applied(known: PresetDocument | null, said: Said, verdict: Verdict): PresetDocument {
  const document = known === null ? empty(said.body.entity_id) : lifted(known);
  return said.body.type === "preset.published" ? published(document, said, verdict) : withdrawn(document, said);
}

function published(document: PresetDocument, { event_id, body, payload }: Said, verdict: Verdict): PresetDocument {
  const version: PresetVersion = {
    ...(payload as Preset), event_id, published_at: body.occurred_at, published_by: body.actor_id,
  };
  // Who did not know of the withdrawal has not decided to put the preset back in force.
  const unaware = document.withdrawn !== null && body.corrects !== (document.withdrawn.event_id ?? null);
  if (verdict === "conflict" || unaware) {
    return { ...document, drafts: [...document.drafts, { ...version, base_version: body.base_version }] };
  }
  return {
    // What this version leaves out is not carried over from the one before.
    ...empty(body.entity_id), ...version, preset_id: body.entity_id, status: "current",
    versions: [...document.versions, version],
    drafts: document.drafts.filter((one) => one.event_id !== (version.from_draft ?? null)),
    set_aside: document.set_aside, withdrawals: document.withdrawals,
  };
}

function withdrawn(document: PresetDocument, { event_id, body, payload }: Said): PresetDocument {
  const said = { reason: (payload as { reason?: string }).reason ?? null, at: body.occurred_at, by: body.actor_id };
  if (body.corrects !== null) {
    // About one draft only; the version in force stays what it is.
    const gone = document.drafts.filter((one) => one.event_id === body.corrects);
    return {
      ...document,
      drafts: document.drafts.filter((one) => one.event_id !== body.corrects),
      set_aside: [...document.set_aside, ...gone.map((one) => ({ ...one, set_aside: said }))],
    };
  }
  const in_force = document.version ?? null;
  const version = body.base_version ?? in_force;
  const withdrawal = { event_id, version, ...said };
  const next = { ...document, withdrawals: [...document.withdrawals, withdrawal] };
  // Said of an earlier version, or said twice: what is in force does not change by it.
  if (version !== in_force || document.withdrawn !== null) return next;
  return { ...next, status: "withdrawn", withdrawn: withdrawal };
}

interface Own extends Said { state: "waiting" | "settled"; result: object | null }

/**
 * The server's copy of a preset with what this tablet has said about it and the copy does not hold
 * yet. Null where nothing is known of it at all.
 */
export function withOwnEntries(copy: PresetDocument | null, own: readonly Own[]): PresetDocument | null {
  let document = copy;
  for (const said of own) {
    const outcome = (said.result as { outcome?: string } | null)?.outcome;
    // Refused or put aside: the server's copy will say so, if anything is to be said.
    if (outcome != null && !["applied", "duplicate", "conflict"].includes(outcome)) continue;
    // A copy without its history says nothing of which entries it holds.
    if (said.state === "settled" && copy !== null && !copy.versions) continue;
    if (copy !== null && holds(copy, said)) continue;
    const built_on = document?.version ?? null;
    const beaten = outcome == null && said.body.type === "preset.published" && said.body.base_version !== built_on;
    document = applied(document, said, outcome === "conflict" || beaten ? "conflict" : "applied");
  }
  return document;
}

function holds(copy: PresetDocument, { event_id, body }: Said): boolean {
  const ids: { event_id: string }[] = [...(copy.versions ?? []), ...copy.drafts, ...(copy.set_aside ?? []), ...(copy.withdrawals ?? [])];
  return ids.some((one) => one.event_id === event_id)
    // A draft once set aside stays so, whoever said it.
    || (body.type === "preset.withdrawn" && (copy.set_aside ?? []).some((one) => one.event_id === body.corrects));
}
