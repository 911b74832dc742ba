import { t } from "../../text";
import { href } from "../route";

export type View = keyof typeof t.course.views;

/** The ways from a case to what is noted beside its passes. */
export function Menu({ record_id, timing }: { record_id: string; timing: boolean }) {
  const views: View[] = ["pause", "hand-over", "protection", "photographs", "lists", "notes", "entries"];
  return (
    <nav class="case-menu" aria-label={t.course.menu}>
      {views.filter((view) => !(timing && view === "pause")).map((view) => (
        <a key={view} class="button" href={href("case", record_id, view)} data-testid={`case-${view}`}>{t.course.views[view]}</a>
      ))}
    </nav>
  );
}

/** Back to where the laser is used. */
export function Back({ record_id }: { record_id: string }) {
  return <a class="button quiet" href={href("case", record_id)} data-testid="case-back">{t.course.back}</a>;
}
