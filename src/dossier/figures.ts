/** Figures as they are printed: fixed decimals, a point as decimal mark, units beside them. */
import type { CheckReport } from "../check/result.ts";
import { toDegrees, toMm } from "../math/units.ts";

/** Shown where a figure does not exist. */
export const NONE = "–";

/** A number with `digits` decimals; a dash for what is not finite. */
export function fixed(value: number, digits: number): string {
  if (!Number.isFinite(value)) return NONE;
  const text = value.toFixed(digits);
  return Number(text) === 0 ? text.replace("-", "") : text;
}

/** "61.24 s" */
export const seconds = (value: number): string => (Number.isFinite(value) ? `${fixed(value, 2)} s` : NONE);
/** "12.5 mm" */
export const millimetres = (value: number): string => (Number.isFinite(value) ? `${fixed(toMm(value), 1)} mm` : NONE);
/** "14.2°" */
const degrees = (value: number): string => (Number.isFinite(value) ? `${fixed(toDegrees(value), 1)}°` : NONE);
/** "54 %" of a share 0.54 */
export const percent = (share: number): string => (Number.isFinite(share) ? `${fixed(share * 100, 0)} %` : NONE);

/** "1 error", "3 errors" */
export const counted = (count: number, one: string, many = `${one}s`): string => `${count} ${count === 1 ? one : many}`;

/** Distance to the nearest joint limit of a reach entry: "28.9°", or "120.0 mm" where that joint slides. */
export function jointMargin(
  report: CheckReport,
  { jointMargin_rad, nearestJoint }: CheckReport["reach"][number],
): string {
  const slides = report.joints.some(({ name, kind }) => name === nearestJoint && kind === "prismatic");
  return slides ? millimetres(jointMargin_rad) : degrees(jointMargin_rad);
}
