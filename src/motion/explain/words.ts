/** Numbers with their units, as failures print them. */
import type { Arm } from "../../arm/model.ts";
import { toDegrees, toMm } from "../../math/units.ts";
import type { FailedSegment } from "./poses.ts";

export const name = (failed: FailedSegment): string =>
  failed.segment.kind === "joint" ? "motion" : failed.segment.kind;
export const percent = (fraction: number): string => `${(100 * fraction).toFixed(1)} %`;
/** One decimal, and no minus before a zero. */
const tenths = (value: number): string => value.toFixed(1).replace(/^-(?=0\.0$)/, "");
/** A joint value or difference with its unit. */
export const amount = (arm: Arm, joint: number, value: number): string =>
  arm.prismatic[joint] ? `${tenths(toMm(value))} mm` : `${tenths(toDegrees(value))}°`;
export const perSecond = (arm: Arm, joint: number, value: number): string =>
  arm.prismatic[joint] ? `${toMm(value).toFixed(0)} mm/s` : `${toDegrees(value).toFixed(0)} °/s`;
export const list = (arm: Arm, q: ArrayLike<number>): string =>
  `(${Array.from(q, (v, i) => amount(arm, i, v)).join(", ")})`;
/** What a joint holds with: a torque, or a force where it slides. */
export const effort = (arm: Arm, joint: number, value: number): string =>
  `${value.toFixed(1)} ${arm.prismatic[joint] ? "N" : "N m"}`;
