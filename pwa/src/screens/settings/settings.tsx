import { useSignal } from "@preact/signals";
import { Glyph, Notice, Press } from "../../parts/basics";
import { Choice, type Option } from "../../parts/fields";
import { APP_BUILD } from "../../events/versions";
import { person, seat } from "../../session/state";
import { LOCK_MIN, SIZES, type Hand } from "../../store/choices";
import { LANGUAGE_NAMES, LANGUAGES, t } from "../../text";
import { chooseForMe, chooseForTablet, own, tablet, wantedLanguage } from "../choices";
import { href } from "../route";
import { CardMeasure } from "./card";

type Size = keyof typeof t.settings.sizes;

/** What a person chooses for themselves, and what holds for the tablet. */
export function SettingsScreen() {
  const w = t.settings;
  const atDesk = seat.value === "desk";
  return (
    <div class="page">
      <div class="row spread"><h1>{w.title}</h1><Press id="settings-back" onPress={() => history.back()}>{w.back}</Press></div>
      <div class="two">
        <section class="sheet">
          <h2>{w.mine}</h2>
          <p class="small soft">{w.mineLead(person.value?.display_name ?? "")}</p>
          <Choice id="language" legend={w.language} value={wantedLanguage()} onChange={(chosen) => chooseForMe({ language: chosen })}
            options={LANGUAGES.map((one) => ({ value: one, text: LANGUAGE_NAMES[one] }))} across />
          <Choice id="hand" legend={w.hand} hint={w.handHint} value={own.value?.hand ?? "right"} across
            onChange={(hand) => chooseForMe({ hand: hand as Hand })}
            options={(["left", "right"] as const).map((hand) => ({ value: hand, text: w.hands[hand] }))} />
        </section>
        <section class="sheet">
          <h2>{atDesk ? w.desk : w.tablet}</h2>
          <p class="small soft">{w.tabletLead}</p>
          <SizeChoice />
          {atDesk ? <p class="small">{w.lockFixed}</p> : (
            <Choice id="lock-after" legend={w.lock} hint={w.lockHint} value={String(tablet.value.lock_min)} across
              onChange={(minutes) => chooseForTablet({ lock_min: Number(minutes) })} options={minuteOptions()} />
          )}
        </section>
      </div>
      <ul class="list">
        {atDesk ? <Way to="secrets" words={t.access.own} /> : null}
        <Way to="sessions" words={t.access.sessions} />
      </ul>
      <p class="small soft">{w.version(APP_BUILD)}. {t.common.caution}</p>
    </div>
  );
}

function Way({ to, words }: { to: string; words: { title: string; about: string } }) {
  return (
    <li><a class="item" href={href("settings", to)} data-testid={`settings-${to}`}>
      <span class="grow"><span class="strong">{words.title}</span><span class="small">{words.about}</span></span><Glyph shape="turn" /></a></li>
  );
}

function minuteOptions(): Option[] {
  return Array.from({ length: LOCK_MIN.max - LOCK_MIN.min + 1 }, (_, i) => LOCK_MIN.min + i)
    .map((minutes) => ({ value: String(minutes), text: t.settings.minutes(minutes) }));
}

function SizeChoice() {
  const measuring = useSignal(false);
  const measured = useSignal(false);
  const w = t.settings;
  const now = tablet.value.px_per_mm;
  const named = (Object.keys(SIZES) as (keyof typeof SIZES)[]).find((size) => SIZES[size] === now);
  const value: Size = now === null ? "guess" : named ?? "card";
  const choose = (size: Size) => {
    measured.value = false;
    measuring.value = size === "card";
    if (size !== "card") chooseForTablet({ px_per_mm: size === "guess" ? null : SIZES[size] });
  };
  return (
    <>
      <Choice id="size" legend={w.size} value={measuring.value ? "card" : value} onChange={(size) => choose(size as Size)}
        options={(["guess", "small", "medium", "large", "card"] as const).map((size) => ({ value: size, text: w.sizes[size], under: w.sizeUnder[size] }))} />
      {value === "card" && !measuring.value ? <Press id="card-again" kind="quiet" onPress={() => { measuring.value = true; }}>{w.card.title}</Press> : null}
      {measuring.value ? (
        <CardMeasure onDone={(px_per_mm) => {
          measuring.value = false;
          if (px_per_mm === null) return;
          chooseForTablet({ px_per_mm });
          measured.value = true;
        }} />
      ) : null}
      {measured.value ? <Notice calm shape="done" id="card-done" live><p>{w.card.done}</p></Notice> : null}
    </>
  );
}
