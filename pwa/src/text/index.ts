/** The words of the screens. One folder for each language; English is the first. */
import { caseWords } from "./en/case";
import { commonWords } from "./en/common";
import { compareWords } from "./en/compare";
import { deskWords } from "./en/desk";
import { doseWords } from "./en/dose";
import { doorWords } from "./en/door";
import { drawingWords } from "./en/drawings";
import { entryWords } from "./en/entry";
import { planWords } from "./en/plan";
import { practiceWords } from "./en/practice";
import { presetWords } from "./en/presets";
import { recordWords } from "./en/records";
import { todayWords } from "./en/today";

export const t = {
  common: commonWords,
  door: doorWords,
  today: todayWords,
  plan: planWords,
  compare: compareWords,
  drawing: drawingWords,
  entry: entryWords,
  dose: doseWords,
  case: caseWords,
  practice: practiceWords,
  presets: presetWords,
  records: recordWords,
  desk: deskWords,
} as const;

export { formulaWords } from "./en/formulas";
export { KEY_RESULTS, resultWords } from "./en/dose";

/** The language of dates and of the words above. */
export const LOCALE = "en";
