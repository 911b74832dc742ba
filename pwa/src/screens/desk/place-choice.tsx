import { useSignal } from "@preact/signals";
import { useEffect, useRef } from "preact/hooks";
import { Glyph, Mark, Notice, Press } from "../../parts/basics";
import { unfinished } from "../../session/draft";
import { goTo } from "../../session/places";
import { place, places, type WorkPlace } from "../../session/state";
import { t } from "../../text";
import { attempt, busy } from "../attempt";
import { rolesText } from "../people/words";
import { typedHere } from "../typed";

/** The locations where the person works; what is typed and not saved is asked about before it is left. */
export function PlaceChoice({ onClose }: { onClose: () => void }) {
  const asked = useSignal<WorkPlace | null>(null);
  const list = useRef<HTMLElement>(null);
  useEffect(() => {
    list.current?.querySelector<HTMLElement>("button")?.focus();
    const close = (event: KeyboardEvent) => { if (event.key === "Escape") onClose(); };
    document.addEventListener("keydown", close);
    return () => document.removeEventListener("keydown", close);
  }, []);
  const go = (one: WorkPlace) => void attempt(() => goTo(one.location_id)).then((done) => { if (!done) onClose(); });
  const choose = (one: WorkPlace) => {
    if (one.location_id === place.value?.location_id) onClose();
    else if (typedHere() || unfinished()) asked.value = one;
    else go(one);
  };
  return (
    <section ref={list} class="strip stack" aria-label={t.places.choose} data-testid="place-choice">
      {asked.value ? (
        <Notice shape="warn" id="place-typed" live>
          <p class="strong">{t.places.typed}</p><p>{t.places.typedMore(asked.value.name)}</p>
          <div class="row"><Press id="place-stay" kind="main" onPress={onClose}>{t.places.stay}</Press>
            <Press id="place-leave" disabled={busy.value} onPress={() => go(asked.value!)}>{t.places.leave(asked.value.name)}</Press></div>
        </Notice>
      ) : (
        <ul class="list">{places.value.map((one) => (
          <li key={one.location_id}>
            <button type="button" class="item" data-testid="place-option" disabled={busy.value} aria-current={one.location_id === place.value?.location_id ? "true" : undefined} onClick={() => choose(one)}>
              <span class="grow"><span class="strong">{one.name}</span><span class="small">{rolesText(one.roles)}</span></span>
              {one.location_id === place.value?.location_id ? <Mark shape="done">{t.places.here}</Mark> : <Glyph shape="turn" />}
            </button>
          </li>))}</ul>
      )}
    </section>
  );
}

/** In another tab this browser went on to another location: from here nothing is sent there. */
export function MovedOn() {
  return (
    <div class="strip"><Notice shape="warn" id="moved-on" live>
      <p class="strong">{t.places.moved}</p><p>{t.places.movedMore}</p>
      <div class="row"><Press id="moved-reload" kind="main" onPress={() => { history.replaceState(null, "", "#/"); location.reload(); }}>{t.places.reload}</Press></div>
    </Notice></div>
  );
}
