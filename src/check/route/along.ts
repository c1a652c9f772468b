/** A chain of motions in which some steps follow found routes: planned with blends at all corners, certified, told step by step. */
import { type Metres, toMm } from "../../math/units.ts";
import type { Motion, MotionFailure, MotionNote, MotionOutcome, Segment } from "../../motion/index.ts";
import { MEANT_OVERLAP } from "../clearance/meant-contacts.ts";
import { between } from "../clearance/meter.ts";
import { fitBlends } from "./blends.ts";
import type { MomentScene } from "./scene.ts";

/** As wide as the planner makes it: at most half of the shorter neighbour, m. */
export const WIDEST = 1;

/** A step that follows a found route. */
export interface RoutedStep {
  /** Index in the chain, and its first and last segment. */
  readonly step: number;
  readonly first: number;
  readonly last: number;
  readonly moment: MomentScene;
  readonly margin: Metres;
  readonly label: string;
}

/**
 * @param segments of the whole chain, with the largest blends wanted   @param stepOf the step of each segment
 * @returns a motion whose segment ends, blends and notes are those of the steps; a failure names the step as its segment
 */
export function planAlong(
  plan: (segments: readonly Segment[]) => MotionOutcome,
  segments: readonly Segment[],
  stepOf: readonly number[],
  routed: readonly RoutedStep[],
): MotionOutcome {
  const found = fitBlends(
    (blends) => plan(segments.map((segment, i) => ({ ...segment, blend: blends[i]! }))),
    segments.map(({ blend }) => blend),
    (motion) => {
      for (const step of routed) {
        const from = startOf(motion, step);
        const near = step.moment.nearAt(between(motion.swept, from, motion.segmentEnds[step.last]!), step.margin);
        if (near !== undefined) return from + near;
      }
      return undefined;
    },
  );
  if (!found.ok) {
    if ("failure" in found)
      return { ok: false, failure: { ...found.failure, segment: stepOf[found.failure.segment]! } };
    const { step, label } = routed[0]!;
    return {
      ok: false,
      failure: failureAt(
        step,
        `the motion along the route found to ${label} could not be certified ${(1000 * routed[0]!.margin).toFixed(2)} mm clear, ${found.nearAt.toFixed(2)} s into it`,
      ),
    };
  }
  const { motion } = found;
  for (const step of routed) {
    const part = between(motion.swept, startOf(motion, step), motion.segmentEnds[step.last]!);
    const deep = step.moment.tooDeep(part, MEANT_OVERLAP);
    if (deep !== undefined)
      return {
        ok: false,
        failure: failureAt(
          step.step,
          `the route found to ${step.label} leads through what may only be touched: ${deep.map(({ name }) => name).join(" and ")}`,
        ),
      };
  }
  return { ok: true, motion: byStep(motion, segments, stepOf, found.blends) };
}

/** Whether a motion planned before keeps clear at other moments, one per routed step. */
export function staysClear(
  motion: Motion,
  ends: readonly (readonly [from: number, to: number])[],
  routed: readonly RoutedStep[],
): boolean {
  return routed.every((step, k) => {
    const part = between(motion.swept, ...ends[k]!);
    return (
      step.moment.nearAt(part, step.margin) === undefined && step.moment.tooDeep(part, MEANT_OVERLAP) === undefined
    );
  });
}

const startOf = (motion: Motion, { first }: RoutedStep): number => (first === 0 ? 0 : motion.segmentEnds[first - 1]!);

const failureAt = (step: number, message: string): MotionFailure => ({
  kind: "no route",
  segment: step,
  fraction: 0,
  message,
  mend: "Leave the place by a line first (a `go` with `by: line` and an `offset`), and let the found route begin and end at offsets.",
});

const drawnInWords = (wanted: Metres, fitted: Metres): string =>
  fitted === 0
    ? `the corner is not rounded within ${toMm(wanted).toFixed(1)} mm as asked for, because the motion would come too near to something; the arm stops there`
    : `the blend is reduced from ${toMm(wanted).toFixed(1)} mm to ${toMm(fitted).toFixed(1)} mm: wider, the motion would come too near to something`;

/** The same motion told step by step instead of segment by segment. @param fitted blends that it was planned with at last */
function byStep(
  motion: Motion,
  segments: readonly Segment[],
  stepOf: readonly number[],
  fitted: readonly Metres[],
): Motion {
  const lasts = stepOf.flatMap((step, i) => (stepOf[i + 1] === step ? [] : [i]));
  const ends = lasts.map((i) => motion.segmentEnds[i]!);
  const drawnIn = (i: number) => fitted[i]! < segments[i]!.blend;
  const notes: MotionNote[] = [];
  for (const i of lasts) {
    const step = stepOf[i]!;
    if (drawnIn(i))
      notes.push({ kind: "blend reduced", segment: step, message: drawnInWords(segments[i]!.blend, fitted[i]!) });
    else
      notes.push(
        ...(motion.notes ?? []).filter(({ segment }) => segment === i).map((note) => ({ ...note, segment: step })),
      );
  }
  return {
    duration: motion.duration,
    end: motion.end,
    segmentEnds: ends,
    swept: motion.swept,
    notes,
    ...(motion.blends && { blends: lasts.map((i) => motion.blends![i]!) }),
    torqueShare: motion.torqueShare,
    peakToolSpeed: motion.peakToolSpeed,
    peakToolAcceleration: motion.peakToolAcceleration,
    // Computed when asked for.
    get limits() {
      return motion.limits;
    },
    get nearestSingularity() {
      return motion.nearestSingularity;
    },
    sample: (time, out) => motion.sample(time, out),
  };
}
