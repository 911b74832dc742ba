/** The words that stand before anybody is signed in. */
import type { FirstWords } from "../language";
import { commonWords } from "./common";
import { doorWords } from "./door";
import { problemWords } from "./problems";

export const firstSpanish: FirstWords = { common: commonWords, door: doorWords, problems: problemWords };
