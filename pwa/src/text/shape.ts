/** The same words in another language: every key, every placeholder, other letters. */
export type Shape<T> =
  T extends string ? string
  : T extends (...given: infer Given) => unknown ? (...given: Given) => string
  : T extends object ? { readonly [Key in keyof T]: Shape<T[Key]> }
  : T;
