/**
 * How this tablet and its people want the screens.
 *
 * In the browser's plain storage, because it is read before anything else is open; nothing in it is
 * secret, and losing it costs a few taps.
 */

export type Hand = "right" | "left";

export interface TabletChoices {
  /** Null: as the browser is set. */
  language: string | null;
  /** CSS pixels that make one millimetre on this glass; null: guessed from what the browser says. */
  px_per_mm: number | null;
  /** Minutes without a touch until the tablet locks itself; an open case has its own. */
  lock_min: number;
}

/** What one person chose on this tablet; null: as the tablet. */
export interface OwnChoices { language: string | null; hand: Hand }

/**
 * CSS pixels in a millimetre: an inch is 96 of them where a screen is as CSS defines, 160 as Android
 * defines its density-independent pixel, and 132 on a common size of tablet with two device pixels each.
 */
export const SIZES = { small: 160 / 25.4, medium: 132 / 25.4, large: 96 / 25.4 } as const;
export const PX_PER_MM = { min: 3, max: 9 } as const;
export const LOCK_MIN = { min: 1, max: 5, first: 2 } as const;

const KEY = "dosebook.choices";
type Kept = { tablet?: Partial<TabletChoices>; people?: Record<string, Partial<OwnChoices>> };

function kept(): Kept {
  try {
    const read: unknown = JSON.parse(localStorage.getItem(KEY) ?? "{}");
    return typeof read === "object" && read !== null ? (read as Kept) : {};
  } catch {
    // Blocked or torn: the first choices stand.
    return {};
  }
}

function keep(choices: Kept): void {
  try {
    localStorage.setItem(KEY, JSON.stringify(choices));
  } catch {
    // It then lasts until the page is closed.
  }
}

function within<T>(value: unknown, { min, max }: { min: number; max: number }, otherwise: T): number | T {
  return typeof value === "number" && value >= min && value <= max ? value : otherwise;
}

export function tabletChoices(): TabletChoices {
  const { tablet = {} } = kept();
  return {
    language: typeof tablet.language === "string" ? tablet.language : null,
    px_per_mm: within(tablet.px_per_mm, PX_PER_MM, null),
    lock_min: within(tablet.lock_min, LOCK_MIN, LOCK_MIN.first),
  };
}

export function ownChoices(person_id: string): OwnChoices {
  const own = kept().people?.[person_id] ?? {};
  return {
    language: typeof own.language === "string" ? own.language : null,
    hand: own.hand === "left" ? "left" : "right",
  };
}

export function keepTabletChoices(chosen: TabletChoices): void {
  keep({ ...kept(), tablet: chosen });
}

export function keepOwnChoices(person_id: string, chosen: OwnChoices): void {
  const before = kept();
  keep({ ...before, people: { ...before.people, [person_id]: chosen } });
}
