/** An event's two texts, each made once here, then hashed, signed and kept as they are. */

import { base64url, concat, hex, sha256, utf8 } from "./bytes";
import { newId } from "./ids";
import { surroundings, type Bytes } from "./surroundings";
import { nowText } from "./times";
import { APP_BUILD, ENGINE_VERSION, EVENT_VERSION } from "./versions";

/** What a screen asks to be written down. */
export interface EventDraft {
  type: string;
  entity_id: string;
  payload: object;
  corrects?: string | null;
  base_version?: number | null;
  occurred_at?: string;
}

export interface EventBody {
  v: number;
  event_id: string;
  tablet_id: string;
  tablet_seq: number;
  location_id: string;
  actor_id: string | null;
  type: string;
  entity_id: string;
  base_version: number | null;
  corrects: string | null;
  occurred_at: string;
  zone: string;
  clock_offset_ms: number | null;
  app_build: string;
  engine_version: string;
  payload_hash: string;
}

export type EventPayload = Record<string, unknown>;

/** An event as it travels. */
export interface Item {
  event_id: string;
  tablet_seq: number;
  body: string;
  payload: string;
  salt: string;
  signature: string;
}

/** Who and where, the same for every event of one append. */
export interface BuildContext {
  tablet_id: string;
  location_id: string;
  actor_id: string | null;
  /** Server time minus tablet time when last known [ms]. */
  clock_offset_ms: number | null;
  /** Raw r|s signature over the bytes given. */
  sign(bytes: Bytes): Promise<Bytes>;
}

export interface BuiltEvent {
  item: Item;
  body: EventBody;
  payload: EventPayload;
  body_hash: string;
  /** UTF-8 bytes of body and payload together. */
  size_bytes: number;
}

/**
 * Build and sign one event.
 *
 * Throws TypeError where a payload carries a number that is not an integer: two languages print
 * the same fraction differently, so fractions travel as decimal strings.
 */
export async function buildEvent(
  draft: EventDraft, tablet_seq: number, context: BuildContext,
): Promise<BuiltEvent> {
  const payload = JSON.stringify(draft.payload, onlyIntegers);
  const salt = surroundings().random(16);
  const body: EventBody = {
    v: EVENT_VERSION,
    event_id: newId(),
    tablet_id: context.tablet_id,
    tablet_seq,
    location_id: context.location_id,
    actor_id: context.actor_id,
    type: draft.type,
    entity_id: draft.entity_id,
    base_version: draft.base_version ?? null,
    corrects: draft.corrects ?? null,
    occurred_at: draft.occurred_at ?? nowText(),
    zone: surroundings().zone(),
    clock_offset_ms: context.clock_offset_ms,
    app_build: APP_BUILD,
    engine_version: ENGINE_VERSION,
    payload_hash: hex(await sha256(concat(salt, utf8(payload)))),
  };
  const bodyText = JSON.stringify(body);
  const bodyBytes = utf8(bodyText);
  return {
    item: {
      event_id: body.event_id,
      tablet_seq,
      body: bodyText,
      payload,
      salt: hex(salt),
      signature: base64url(await context.sign(bodyBytes)),
    },
    body,
    payload: JSON.parse(payload) as EventPayload,
    body_hash: hex(await sha256(bodyBytes)),
    size_bytes: bodyBytes.length + utf8(payload).length,
  };
}

function onlyIntegers(key: string, value: unknown): unknown {
  if (typeof value === "number" && !Number.isSafeInteger(value)) {
    throw new TypeError(`${key}: a payload carries integers or decimal strings, not ${value}`);
  }
  return value;
}
