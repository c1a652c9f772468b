/**
 * Gaps in which parts of the body can be crushed, and the least gaps that rule it out.
 *
 * Source: ISO 13854:2017, table 1 (read in the summary of a public accident insurer: body 500, head 300, leg 180, foot 120, toes 50,
 * arm 120, hand, wrist and fist 100, finger 25 mm).
 */

export interface BodyGap {
  readonly part: string;
  /** m. */
  readonly least: number;
}

export const GAP_EDITION = "ISO 13854:2017";

/** Largest first. */
export const leastGaps: readonly BodyGap[] = [
  { part: "body", least: 0.5 },
  { part: "head", least: 0.3 },
  { part: "leg", least: 0.18 },
  { part: "foot", least: 0.12 },
  { part: "arm", least: 0.12 },
  { part: "hand, wrist or fist", least: 0.1 },
  { part: "toes", least: 0.05 },
  { part: "finger", least: 0.025 },
];

/** Parts of the body for which a gap that closes to `gap` (m) is too narrow, largest first. Overlap counts as closed. */
export const crushedIn = (gap: number): string[] =>
  leastGaps.filter(({ least }) => gap < least).map(({ part }) => part);
