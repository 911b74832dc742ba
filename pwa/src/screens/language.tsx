import { Press } from "../parts/basics";
import { language, LANGUAGE_NAMES, LANGUAGES } from "../text";
import { chooseForTablet } from "./choices";

/** Before anybody is signed in: the other languages, each by its own name. */
export function OtherLanguages() {
  return (
    <div class="row">
      {LANGUAGES.filter((one) => one !== language()).map((one) => (
        <span key={one} lang={one}>
          <Press id={`language-${one}`} kind="quiet" onPress={() => chooseForTablet({ language: one })}>{LANGUAGE_NAMES[one]}</Press>
        </span>
      ))}
    </div>
  );
}
