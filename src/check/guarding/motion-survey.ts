/**
 * The motions of a run as a person meets them: speed, effective mass, allowed speed and stop of the tool at every sample, and where
 * the arm's centre line then is, seen from above.
 */
import { type Arm, jointFrames } from "../../arm/index.ts";
import { geometricJacobian } from "../../arm/jacobian.ts";
import type { BodyRegionName, Cell } from "../../cell/index.ts";
import type { GoStep, PressStep } from "../../cell/steps.ts";
import type { CycleRun } from "../../cycle/index.ts";
import {
  blowLimit,
  bodyRegions,
  type ContactLimit,
  createEffectiveMass,
  createStopMeter,
  type Point2,
  type Stop,
  simplifiedMass,
} from "../../guarding/index.ts";
import { compose, identityPose, type Pose } from "../../math/pose.ts";
import type { MotionFailure } from "../../motion/index.ts";
import { carriedLoad } from "../load.ts";
import { isPlanned, type PlannedMove } from "../mover.ts";
import { tcpOf } from "../targets.ts";

type Run = CycleRun<MotionFailure>;
type MotionStep = GoStep | PressStep;

/** Time between samples, s, and how many there are at least and at most in a motion. */
const STEP = 0.02;
const LEAST = 16;
const MOST = 1024;
/** Below this the tool counts as standing, m/s. */
const STANDING = 0.001;

export interface StepMotion {
  readonly step: MotionStep;
  readonly variant: string;
  /** Fastest point of contact, m/s. */
  peak: number;
  effectiveMin: number;
  effectiveMax: number;
  simplified: number;
  /** Least allowed speed for the stated regions, where it is, and the largest ratio of speed to allowed speed. */
  allowed: number;
  region: BodyRegionName | undefined;
  surface: string | undefined;
  governs: ContactLimit["governs"] | undefined;
  ratio: number;
  /** Speed of the tool centre point that keeps every blow allowed; Infinity: nothing to limit. */
  cap: number;
  stop: Stop;
}

/** One moment: the arm's centre line from above, world axes, without what stays where it is in the whole routine. */
export interface Sample {
  readonly step: MotionStep;
  readonly points: readonly Point2[];
  readonly speed: number;
  readonly stop: Stop;
}

export interface MotionSurvey {
  readonly steps: ReadonlyMap<string, StepMotion>;
  readonly samples: readonly Sample[];
  /** Sum of the moving links, kg; undefined: not stated. */
  readonly movingMass: number | undefined;
  readonly heaviestLoad: number | undefined;
  /** Fastest point of the tool, m/s. */
  readonly topSpeed: number;
  /** Heaviest mass that a blow was computed with, kg; 0 when none was. */
  readonly heaviestEffective: number;
}

/** Points that move less than this in the whole routine are no hazard, m. */
const STAYS = 0.001;

/** Lowest and highest coordinates of each point of the centre line, six numbers each. */
type Bounds = Float64Array;

/** The samples without the points of the centre line (base, shoulder on its axis) that no motion moves. */
function withoutStanding(samples: readonly Sample[], bounds: Bounds): Sample[] {
  const moves = (point: number) => [0, 1, 2].some((k) => bounds[6 * point + 3 + k]! - bounds[6 * point + k]! > STAYS);
  return samples.map((sample) => ({ ...sample, points: sample.points.filter((_, i) => moves(i)) }));
}

interface Surface {
  readonly name: string | undefined;
  readonly flangeFromPoint: Pose;
  readonly area: number | undefined;
}

/** Every planned motion once. @param regions whose limits hold; those on which no blow is permitted count for nothing here */
export function surveyMotions(
  cell: Cell,
  arm: Arm,
  runs: readonly Run[],
  regions: readonly BodyRegionName[],
): MotionSurvey {
  const { n } = arm;
  const state = { q: new Float64Array(n), qd: new Float64Array(n), qdd: new Float64Array(n) };
  const jacobian = new Float64Array(6 * n);
  const frames = new Float64Array(12 * (n + 1));
  const bounds: Bounds = new Float64Array(6 * (n + 2)).map((_, i) =>
    i % 6 < 3 ? Number.POSITIVE_INFINITY : Number.NEGATIVE_INFINITY,
  );
  const effective = arm.hasMasses ? createEffectiveMass(arm) : undefined;
  const stopOf = createStopMeter(arm);
  const movingMass = arm.hasMasses ? arm.mass.reduce((sum, m) => sum + m, 0) : undefined;
  const steps = new Map<string, StepMotion>();
  const samples: Sample[] = [];
  const checked = regions.flatMap((name) => {
    const region = bodyRegions.get(name)!;
    return region.transientFactor === undefined ? [] : [region];
  });
  let heaviestLoad: number | undefined;
  let topSpeed = 0,
    heaviestEffective = 0;

  const speedOf = (flangeFromPoint: Pose, out: Float64Array): number => {
    geometricJacobian(arm, state.q, flangeFromPoint, jacobian);
    for (let r = 0; r < 3; r++) {
      let v = 0;
      for (let i = 0; i < n; i++) v += jacobian[r * n + i]! * state.qd[i]!;
      out[r] = v;
    }
    return Math.hypot(out[0]!, out[1]!, out[2]!);
  };
  const surfaces: Surface[] = [...(cell.guarding?.contactSurfaces ?? [])].map(([name, { on, area }]) => ({
    name,
    area,
    flangeFromPoint: on === "flange" ? identityPose() : tcpOf(cell, on),
  }));
  const v = new Float64Array(3);
  const seen = new Set<unknown>();

  for (const run of runs)
    for (const { outcome, steps: chain, context } of run.moves) {
      if (!outcome.ok) continue;
      const move = isPlanned(outcome.motion) ? outcome.motion : (outcome.approach as PlannedMove | undefined);
      if (move === undefined || seen.has(move)) continue;
      seen.add(move);
      const { motion, flangeFromTcp } = move;
      const load = carriedLoad(cell, context.held);
      if (load !== undefined && load.mass > (heaviestLoad ?? 0)) heaviestLoad = load.mass;
      const points =
        surfaces.length > 0 ? surfaces : [{ name: undefined, area: undefined, flangeFromPoint: flangeFromTcp }];
      const simplified = movingMass === undefined || load === undefined ? 0 : simplifiedMass(movingMass, load.mass);
      const count = Math.min(MOST, Math.max(LEAST, Math.ceil(motion.duration / STEP)));
      for (let k = 0; k <= count; k++) {
        const time = (motion.duration * k) / count;
        motion.sample(time, state);
        const index = motion.segmentEnds.findIndex((end) => time <= end + 1e-12);
        const step = (chain[index] ?? chain.at(-1)!) as MotionStep;
        const entry = entryOf(step, run.variant, simplified);
        const stop = stopOf(state.q, state.qd, flangeFromTcp);
        const tool = speedOf(flangeFromTcp, v);
        topSpeed = Math.max(topSpeed, tool);
        if (stop.time > entry.stop.time) entry.stop = stop;
        samples.push({ step, points: centreLine(flangeFromTcp), speed: tool, stop });
        for (const { name, area, flangeFromPoint } of points) {
          const speed = speedOf(flangeFromPoint, v);
          entry.peak = Math.max(entry.peak, speed);
          if (speed < STANDING || effective === undefined || load === undefined) continue;
          for (let r = 0; r < 3; r++) v[r]! /= speed;
          const mass = effective.of(state.q, v, flangeFromPoint, load);
          entry.effectiveMin = Math.min(entry.effectiveMin, mass);
          entry.effectiveMax = Math.max(entry.effectiveMax, mass);
          const heavier = Math.max(mass, simplified);
          heaviestEffective = Math.max(heaviestEffective, heavier);
          for (const region of checked) {
            const limit = blowLimit(region, heavier, area);
            if (limit.speed < entry.allowed) {
              entry.allowed = limit.speed;
              entry.region = region.name;
              entry.surface = name;
              entry.governs = limit.governs;
            }
            const ratio = speed / limit.speed;
            entry.ratio = Math.max(entry.ratio, ratio);
            if (ratio > 1 && tool > STANDING) entry.cap = Math.min(entry.cap, tool / ratio);
          }
        }
      }
    }
  return { steps, samples: withoutStanding(samples, bounds), movingMass, heaviestLoad, topSpeed, heaviestEffective };

  function entryOf(step: MotionStep, variant: string, simplified: number): StepMotion {
    let entry = steps.get(step.id);
    if (entry === undefined) {
      entry = {
        step,
        variant,
        peak: 0,
        effectiveMin: Number.POSITIVE_INFINITY,
        effectiveMax: 0,
        simplified,
        allowed: Number.POSITIVE_INFINITY,
        region: undefined,
        surface: undefined,
        governs: undefined,
        ratio: 0,
        cap: Number.POSITIVE_INFINITY,
        stop: { time: 0, distance: 0, joint: -1 },
      };
      steps.set(step.id, entry);
    }
    entry.simplified = Math.max(entry.simplified, simplified);
    return entry;
  }

  /** Joint origins, flange and tool centre point from above. */
  function centreLine(flangeFromTcp: Pose): Point2[] {
    jointFrames(arm, state.q, frames);
    const line: Point2[] = [];
    const world = cell.worldFromBase;
    const put = (x: number, y: number, z: number) => {
      const at = 6 * line.length;
      const own = [x, y, z];
      for (let k = 0; k < 3; k++) {
        bounds[at + k] = Math.min(bounds[at + k]!, own[k]!);
        bounds[at + 3 + k] = Math.max(bounds[at + 3 + k]!, own[k]!);
      }
      line.push([
        world[0]! * x + world[1]! * y + world[2]! * z + world[3]!,
        world[4]! * x + world[5]! * y + world[6]! * z + world[7]!,
      ]);
    };
    for (let i = 0; i <= n; i++) put(frames[12 * i + 3]!, frames[12 * i + 7]!, frames[12 * i + 11]!);
    const flange = identityPose();
    for (let i = 0; i < 12; i++) flange[i] = frames[12 * n + i]!;
    const tcp = compose(flange, flangeFromTcp);
    put(tcp[3]!, tcp[7]!, tcp[11]!);
    return line;
  }
}
