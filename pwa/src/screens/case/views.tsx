import { Press } from "../../parts/basics";
import { t } from "../../text";
import { go, href } from "../route";

export type View = keyof typeof t.course.views;

interface MenuProps { record_id: string; noPause: boolean; noEnd: boolean }

/** The ways from a case to what is noted beside its passes, and to its end. */
export function Menu({ record_id, noPause, noEnd }: MenuProps) {
  const views: View[] = ["pause", "hand-over", "protection", "photographs", "lists", "notes", "entries"];
  return (
    <nav class="case-menu" aria-label={t.course.menu}>
      {views.map((view) => {
        const text = view === "entries" ? t.course.entriesShort : t.course.views[view];
        // It keeps its place: nothing else may come under the finger that means to pause.
        if (view === "pause" && noPause) return <button type="button" key={view} disabled>{text}</button>;
        return <a key={view} class="button" href={href("case", record_id, view)} data-testid={`case-${view}`}>{text}</a>;
      })}
      <Press id="case-end" disabled={noEnd} onPress={() => go("case", record_id, "end")}>{t.case.end}</Press>
    </nav>
  );
}

/** Back to where the laser is used. */
export function Back({ record_id }: { record_id: string }) {
  return <a class="button quiet" href={href("case", record_id)} data-testid="case-back">{t.course.back}</a>;
}
