/** The choices in force, and what follows from them for the whole page. */
import { effect, signal } from "@preact/signals";
import { person, seat } from "../session/state";
import { keepOwnChoices, keepTabletChoices, ownChoices, SIZES, tabletChoices, type OwnChoices, type TabletChoices } from "../store/choices";
import { allWords, firstSpoken, language, LANGUAGES, showLanguage, type Language } from "../text";

export const tablet = signal<TabletChoices>(tabletChoices());
/** Of whoever is signed in; null while nobody is. */
export const own = signal<OwnChoices | null>(null);

export function chooseForTablet(changed: Partial<TabletChoices>): void {
  tablet.value = { ...tablet.value, ...changed };
  keepTabletChoices(tablet.value);
}

export function chooseForMe(changed: Partial<OwnChoices>): void {
  const who = person.value;
  if (!who || !own.value) return;
  own.value = { ...own.value, ...changed };
  keepOwnChoices(who.person_id, own.value);
}

/** The person's language, else the tablet's, else the browser's. */
export function wantedLanguage(): Language {
  const chosen = own.value?.language ?? tablet.value.language;
  return LANGUAGES.find((one) => one === chosen) ?? firstSpoken(navigator.languages);
}

/** What the browser lets one guess of the glass: a finger's screen narrower than 500 px is a phone's. */
function guessedPxPerMm(): number {
  if (!window.matchMedia("(pointer: coarse)").matches) return SIZES.large;
  return Math.min(screen.width, screen.height) < 500 ? SIZES.small : SIZES.medium;
}

/** CSS pixels that make a millimetre here. */
export const pxPerMm = (): number => tablet.value.px_per_mm ?? guessedPxPerMm();

/** Follow the choices from now on; resolves once the first language is there. */
export function followChoices(): Promise<unknown> {
  effect(() => { own.value = person.value ? ownChoices(person.value.person_id) : null; });
  effect(() => { document.documentElement.lang = language(); });
  effect(() => { document.documentElement.style.setProperty("--mm", `${pxPerMm()}px`); });
  effect(() => { document.documentElement.dataset["hand"] = own.value?.hand ?? "right"; });
  let first: Promise<unknown> = Promise.resolve();
  effect(() => { first = showLanguage(wantedLanguage()); });
  // The other words while somebody signs in; a screen that needs them asks again, and says if they are missing.
  effect(() => {
    if (seat.value === "tablet" || seat.value === "desk") queueMicrotask(() => { allWords().catch(() => undefined); });
  });
  return first;
}
