/** A sentence begins with a capital letter, also where it begins with who did something and nobody knows the name. */
export const begin = (sentence: string): string => sentence.charAt(0).toLocaleUpperCase() + sentence.slice(1);
