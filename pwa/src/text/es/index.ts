/** Every word in Spanish. */
import { english } from "../en";
import type { Words } from "../language";
import { caseWords } from "./case";
import { commonWords } from "./common";
import { compareWords } from "./compare";
import { deskWords } from "./desk";
import { doorWords } from "./door";
import { doseWords } from "./dose";
import { drawingWords } from "./drawings";
import { entryWords } from "./entry";
import { formulaWords } from "./formulas";
import { listWords } from "./lists";
import { planWords } from "./plan";
import { practiceWords } from "./practice";
import { recordWords } from "./records";
import { resultWords } from "./results";
import { todayWords } from "./today";

export const spanish: Words = {
  common: commonWords,
  door: doorWords,
  today: todayWords,
  plan: planWords,
  compare: compareWords,
  drawing: drawingWords,
  entry: entryWords,
  dose: doseWords,
  results: resultWords,
  formulas: formulaWords,
  case: caseWords,
  lists: listWords,
  practice: practiceWords,
  presets: english.presets,
  records: recordWords,
  desk: deskWords,
};
