/** Every test has all the words, as every screen has once it stands. */
import { allWords } from "../../src/text";

await allWords();
