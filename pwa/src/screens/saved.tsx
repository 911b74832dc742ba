import { Mark } from "../parts/basics";
import { timeText } from "../parts/dates";
import { savedState } from "../session/state";
import { t } from "../text";
import { busy } from "./attempt";

/** Where the record is, in a word and a shape; read out when it changes. */
export function SavedMark({ record_id }: { record_id: string }) {
  const saved = savedState(record_id);
  const at = saved.at ? ` ${t.common.saved.at(timeText(saved.at))}` : "";
  const words = {
    nothing: t.common.saved.nothing,
    tablet: t.common.saved.tablet + at,
    server: t.common.saved.server + at,
    backup: t.common.saved.backup + at,
    attention: `${t.common.saved.attention}: ${reasonText(saved.text)}`,
    rejected: t.aside.saved.rejected,
  }[saved.state];
  const shape = { nothing: "note", tablet: "tablet", server: "cloud", backup: "done", attention: "warn", rejected: "stop" } as const;
  return (
    <span class="saved" aria-live="polite" role="status">
      {busy.value
        ? <><Mark shape="wait" id="saved-state">{t.common.saved.saving}</Mark>
            {/* Keeps its room, so that nothing moves under the finger for as long as a save takes. */}
            <span class="room" aria-hidden="true"><Mark shape={shape[saved.state]}>{words}</Mark></span></>
        : <Mark shape={shape[saved.state]} id="saved-state">{words}</Mark>}
    </span>
  );
}

const reasonText = (code: string | null): string => {
  const known: Readonly<Record<string, string>> = t.aside.reasons;
  return known[code ?? ""] ?? code ?? "";
};
