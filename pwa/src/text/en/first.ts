/** The words that stand before anybody is signed in; they come with the app. */
import { commonWords } from "./common";
import { doorWords } from "./door";

export const firstEnglish = { common: commonWords, door: doorWords } as const;
