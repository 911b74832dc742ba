/** What each kind of entry does to a record. Pure; mirror of `api/records/entries.py`. */

import * as course from "./entries_course";
import { closePasses, emitted, passStarted, sumEmissions } from "./entries_passes";
import * as aboutTheWhole from "./entries_signed";
import type { Entry } from "./order";
import type { Handler, Unfinished } from "./unfinished";

const HANDLERS: Readonly<Record<string, Handler>> = {
  "procedure.opened": course.opened,
  "timeout.answered": course.timeoutAnswered,
  "list.answered": course.listAnswered,
  "operator.accepted": course.operatorAccepted,
  "service.overridden": course.serviceOverridden,
  "protection.noted": course.protectionNoted,
  "pass.started": passStarted,
  "procedure.noted": course.noted,
  "procedure.paused": course.paused,
  "procedure.resumed": course.resumed,
  "procedure.handed_over": course.handedOver,
  "attachment.added": course.attachmentAdded,
  "procedure.ended": course.ended,
  "record.signed": aboutTheWhole.signed,
  "record.addended": aboutTheWhole.addended,
  "record.placed_in_chart": aboutTheWhole.placed,
  "record.removed_from_chart": aboutTheWhole.removed,
  "record.reattributed": aboutTheWhole.reattributed,
  "record.voided": aboutTheWhole.voided,
};

/** Put the entries into the record; answers the ids of events that had no effect after all. */
export function apply(draft: Unfinished, entries: readonly Entry[]): Set<string> {
  const withoutEffect = new Set<string>();
  const emissions: Entry[] = [];
  for (const entry of entries) {
    const { type, event_id } = entry.event.body;
    // Kept until all passes are known: a corrected pass may stand behind its emissions.
    if (type === "laser.emitted") emissions.push(entry);
    else if (!HANDLERS[type]?.(draft, entry)) withoutEffect.add(event_id);
  }
  closePasses(draft);
  for (const entry of emissions) {
    if (!emitted(draft, entry)) withoutEffect.add(entry.event.body.event_id);
  }
  sumEmissions(draft.record);
  return withoutEffect;
}
