/** Every word in English beyond the first ones, an entry for each area; other languages have the same shape. */
import { accessWords } from "./access";
import { accessLogWords } from "./accessLog";
import { asideWords } from "./aside";
import { backupWords } from "./backups";
import { caseWords } from "./case";
import { certificateWords } from "./certificates";
import { checkWords } from "./checks";
import { compareWords } from "./compare";
import { courseWords } from "./course";
import { deskWords } from "./desk";
import { doseWords } from "./dose";
import { drawingWords } from "./drawings";
import { emergencyWords } from "./emergency";
import { engineWords } from "./engine";
import { entryWords } from "./entry";
import { erasureWords } from "./erasure";
import { findingWords } from "./finding";
import { formulaWords } from "./formulas";
import { groupWords } from "./group";
import { offerWords } from "./offers";
import { heatWords } from "./heat";
import { historyWords } from "./history";
import { listWords } from "./lists";
import { openingWords } from "./opening";
import { movingWords } from "./moving";
import { photographWords } from "./photographs";
import { noticeWords } from "./notices";
import { peopleWords } from "./people";
import { placeWords } from "./places";
import { planWords } from "./plan";
import { powerWords } from "./power";
import { practiceWords } from "./practice";
import { presetWords } from "./presets";
import { procedureWords } from "./procedures";
import { proofWords } from "./proof";
import { provenanceWords } from "./provenance";
import { recordWords } from "./records";
import { resultWords } from "./results";
import { registerWords } from "./registers";
import { reportedWords } from "./reported";
import { roomWords } from "./rooms";
import { signWords } from "./signing";
import { serviceWords } from "./service";
import { settingsWords } from "./settings";
import { tabletWords } from "./tablets";
import { todayWords } from "./today";
import { trendWords } from "./trend";
import { upkeepWords } from "./upkeep";
import { witnessWords } from "./witness";

export const english = {
  access: accessWords,
  service: serviceWords,
  today: todayWords,
  photographs: photographWords,
  places: placeWords,
  plan: planWords,
  compare: compareWords,
  drawing: drawingWords,
  entry: entryWords,
  dose: doseWords,
  engine: engineWords,
  results: resultWords,
  formulas: formulaWords,
  opening: openingWords,
  backups: backupWords,
  erasure: erasureWords,
  group: groupWords,
  offers: offerWords,
  case: caseWords,
  certificates: certificateWords,
  checks: checkWords,
  course: courseWords,
  lists: listWords,
  emergency: emergencyWords,
  people: peopleWords,
  power: powerWords,
  practice: practiceWords,
  presets: presetWords,
  procedures: procedureWords,
  proof: proofWords,
  provenance: provenanceWords,
  registers: registerWords,
  reported: reportedWords,
  rooms: roomWords,
  notices: noticeWords,
  records: recordWords,
  finding: findingWords,
  heat: heatWords,
  history: historyWords,
  moving: movingWords,
  signing: signWords,
  settings: settingsWords,
  tablets: tabletWords,
  trend: trendWords,
  upkeep: upkeepWords,
  witness: witnessWords,
  accessLog: accessLogWords,
  aside: asideWords,
  desk: deskWords,
} as const;
