/**
 * What the types promise, checked by the compiler alone (`npm run types`): each line marked as an error must be one.
 * Nothing here runs.
 */
import type { CheckOutcome, CheckReport } from "../../src/check/index.ts";
import { deg, type Metres, mm, type Radians, type Seconds } from "../../src/math/index.ts";
import type { MotionOutcome, Segment } from "../../src/motion/index.ts";

// A unit does not pass for another one; a bare number passes for any.
const length: Metres = mm(250);
const angle: Radians = deg(90);
const plain: Seconds = 0.5;
// @ts-expect-error metres are no radians
const wrongAngle: Radians = mm(250);
// @ts-expect-error radians are no seconds
const wrongTime: Seconds = deg(90);

// A failed motion has no duration, a failed check no report, until the outcome has been looked at.
declare const motion: MotionOutcome;
// @ts-expect-error `ok` must be asked first
const duration = motion.motion.duration;
const asked = motion.ok ? motion.motion.duration : motion.failure.mend;
declare const outcome: CheckOutcome;
// @ts-expect-error `ok` must be asked first
const report: CheckReport = outcome.report;

// Results are not for changing.
declare const finished: CheckReport;
// @ts-expect-error a report is read-only
finished.verdict = "feasible";
// @ts-expect-error findings are read-only
finished.findings.push(finished.findings[0]!);

// An arc without the point it passes is no segment.
const speed = { fraction: 1, toolSpeed: 0.2, toolAcceleration: 1, constant: false };
// @ts-expect-error `via` is missing
const arc: Segment = { kind: "arc", to: new Float64Array(16), blend: 0, speed };

export const used = [length, angle, plain, wrongAngle, wrongTime, duration, asked, report, arc];
