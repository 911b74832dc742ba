/** A number of things by its own word: one of them, or several. */
export const counted = (n: number, one: string, several: string): string => `${n} ${n === 1 ? one : several}`;
