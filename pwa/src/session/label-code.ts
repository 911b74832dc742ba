/** What the code on a label says: a kind of thing and our own id of it, and nothing else. Pure. */

export const LABELLED = ["eyewear", "handpiece", "device"] as const;
export type Labelled = (typeof LABELLED)[number];
export interface LabelCode { kind: Labelled; id: string }

const CODE = /^dosebook:(eyewear|handpiece|device):([A-Za-z0-9._:-]{1,64})$/;

export const labelText = ({ kind, id }: LabelCode): string => `dosebook:${kind}:${id}`;

/** What a label says; null for any other code. */
export function readLabel(text: string): LabelCode | null {
  const found = CODE.exec(text.trim());
  return found ? { kind: found[1] as Labelled, id: found[2]! } : null;
}
