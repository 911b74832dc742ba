import { Press } from "../../parts/basics";
import { Choice, Select, Tick, Wrong } from "../../parts/fields";
import { publishList } from "../../session/commands_lists";
import { loadDeskRegisters } from "../../session/house";
import { houseZone } from "../../session/house_lists";
import { localDay } from "../../session/lists";
import { writing } from "../../session/state";
import type { ListVersion } from "../../session/types";
import { t } from "../../text";
import { attempt, busy } from "../attempt";
import { changes, isSound, toPublish, WITHIN_MINUTES, type ListForm, type Problems } from "./edit-form";

interface Props {
  list_id: string;
  form: ListForm;
  set: (change: Partial<ListForm>) => void;
  found: Problems;
  base: ListVersion | null;
  /** Another version came first: it has to be looked at before this one is published. */
  blocked: boolean;
  tried: () => void;
  onDone: () => void;
}

/** From when it counts, who has to read it, and the press that publishes it. */
export function Publish({ list_id, form, set, found, base, blocked, tried, onDone }: Props) {
  const number = (form.base ?? 0) + 1;
  const fresh = changes(form, base);
  const publish = () => {
    tried();
    if (!isSound(found)) return;
    void attempt(async () => {
      try {
        await publishList(list_id, form.base, toPublish(form), form.key);
      } catch (error) {
        // A desk is told at once that somebody was first: get their text, so that both can be compared.
        if ((error as { code?: string }).code === "version_not_current") await loadDeskRegisters();
        throw error;
      }
    }).then((done) => { if (done) onDone(); });
  };
  return (
    <section class="sheet" data-testid="list-publish">
      <h2>{t.lists.publishTitle(number)}</h2>
      <Choice id="effective" legend={t.lists.effective} across value={form.effective}
        options={[{ value: "now", text: t.lists.now }, { value: "day", text: t.lists.onDay }]}
        onChange={(effective) => set({ effective: effective as ListForm["effective"], day: form.day || localDay(Date.now(), houseZone()) })} />
      {form.effective === "day" ? (
        <div class="field">
          <label for="effective-day">{t.lists.day}</label>
          <input id="effective-day" data-testid="effective-day" type="date" value={form.day} min={localDay(Date.now(), houseZone())}
            aria-describedby="effective-day-hint" aria-invalid={found.day ? "true" : undefined}
            onInput={(e) => set({ day: e.currentTarget.value })} />
          <div id="effective-day-hint"><span class="hint">{t.lists.dayHint(houseZone() ?? "")}</span>
            {found.day ? <Wrong id="effective-day-wrong">{t.lists.wrong[found.day]}</Wrong> : null}</div>
        </div>
      ) : null}
      {form.within_s !== null ? (
        <Select id="list-within" label={t.lists.within} value={String(form.within_s / 60)} onChange={(minutes) => set({ within_s: Number(minutes) * 60 })}
          options={[...new Set([...WITHIN_MINUTES, form.within_s / 60])].map((minutes) => ({ value: String(minutes), text: t.lists.minutes(minutes, 0) }))} />
      ) : null}
      <Tick id="list-ask" checked={form.ask} onChange={(ask) => set({ ask })}>{t.lists.ask}</Tick>
      {fresh ? null : <p class="small soft" data-testid="list-unchanged">{t.lists.unchanged}</p>}
      <Press id="list-publish-go" kind="main" large wide disabled={!fresh || blocked || busy.value || !writing.value} onPress={publish}>{t.lists.publish(number)}</Press>
    </section>
  );
}
