/** The words that stand before anybody is signed in; they come with the app. */
import { commonWords } from "./common";
import { doorWords } from "./door";
import { problemWords } from "./problems";

export const firstEnglish = { common: commonWords, door: doorWords, problems: problemWords } as const;
