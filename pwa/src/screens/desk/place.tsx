import { Glyph } from "../../parts/basics";
import { guest, movedOn } from "../../session/places";
import { place, places } from "../../session/state";
import { t } from "../../text";
import { lazy } from "../lazy";

const Choice = lazy(() => import("./place-choice").then((m) => m.PlaceChoice));
const Moved = lazy(() => import("./place-choice").then((m) => m.MovedOn));

/** Where this desk is: always said where there are several, and left in two presses. */
export function PlaceName({ open, onToggle }: { open: boolean; onToggle: () => void }) {
  if (places.value.length < 2 && !guest()) return null;
  return (
    <button type="button" class="quiet place" data-testid="place" aria-expanded={open} onClick={onToggle}>
      <span><span class="hidden-text">{t.common.nav.at} </span><span data-testid="place-name">{place.value?.name}</span></span><Glyph shape="turn" turn={!open} />
    </button>
  );
}

/** The choice where it is open, and what has to be said where another tab has chosen. */
export function PlaceStrip({ open, onClose }: { open: boolean; onClose: () => void }) {
  if (movedOn.value) return <Moved />;
  return open ? <Choice onClose={onClose} /> : null;
}
