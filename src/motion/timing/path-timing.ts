/** Timing along a path: the function the path planner calls. */
import { ContractError } from "../../math/contract-error.ts";
import type { Law } from "./joined-law.ts";
import { limitSpans } from "./limit-spans.ts";
import type { PathLimitSpan, PathLimits, PathTimingOutcome, TimedPath } from "./path-types.ts";
import { LIMIT, limitId, limitName, PathUse, requirePathLimits } from "./path-use.ts";
import { reachabilityLaw } from "./reachability-law.ts";
import { MOST_AT_REST } from "./retime.ts";
import { ProfileLaw, straightLaw } from "./straight-law.ts";
import { lawOfStretches } from "./stretches.ts";

export interface PathTimingOptions {
  /** Intervals of the numerical grid before refinement. Default 32. */
  readonly intervals?: number;
}

/**
 * Least-time motion along a path from rest to rest (ṡ = s̈ = 0 at both ends) under limits of speed, acceleration and jerk
 * of channels and of channel groups (norms), and of torque.
 *
 * Three methods, the first that applies: the closed-form double-S where limits constant along s decide ("closed form",
 * exact); without any jerk limit, reachability analysis ("reachability", the acceleration jumps); else the path speed
 * squared as a spline, found by an interior-point method ("re-timed", as a rule within 1 % of the optimum; see
 * docs/explanation/motion-timing.md). No limit is exceeded at any time beyond 1e-6 of it.
 *
 * A limit that is Infinity does not limit. Acceleration limits all Infinity with finite jerk limits are allowed; a place
 * where something moves without any acceleration or jerk limit is refused ("no acceleration limit").
 * Ranges with `constantSpeed` must leave room to speed up before and slow down after: motion rests at both ends of the path.
 *
 * @param limits all entries > 0; ranges ascending without overlap
 * @returns the law, or why there is none, with the place and, where one can be named, the limit in the way
 * @throws ContractError if path and limits do not fit together or an entry is out of range
 */
export function timePath(path: TimedPath, limits: PathLimits, options: PathTimingOptions = {}): PathTimingOutcome {
  requirePathLimits(path, limits);
  const use = new PathUse(path, limits);
  const unlimited = withoutAcceleration(use);
  if (unlimited !== undefined) return { ok: false, reason: "no acceleration limit", s: unlimited };
  const heavy = torqueAtRest(use);
  if (heavy) return heavy;
  const profile = straightLaw(use);
  if (profile) return outcome(use, new ProfileLaw(profile), "closed form");
  if (!anyJerkLimit(limits)) {
    const second = reachabilityLaw(use, bordersOf(path, limits), REACHABILITY_INTERVALS);
    if (second.ok) return outcome(use, second.law, "reachability");
    const prescribed = limits.ranges?.some((range) => range.constantSpeed !== undefined);
    return { ok: false, reason: prescribed ? "constant speed" : "torque at rest", s: second.s };
  }
  const made = lawOfStretches(use, bordersOf(path, limits), {
    intervals: options.intervals ?? 32,
    least: LEAST_INTERVALS,
  });
  return made.ok ? outcome(use, made.law, "re-timed") : made;
}

function outcome(use: PathUse, law: Law, method: "closed form" | "re-timed" | "reachability"): PathTimingOutcome {
  let spans: readonly PathLimitSpan[] | undefined;
  return {
    ok: true,
    duration: law.duration,
    method,
    sample: (time, out) => law.sample(time, out),
    timeAt: (s) => law.timeAt(s),
    get limits() {
      spans ??= limitSpans(use, law.duration, (t, out) => law.sample(t, out), SPAN_SAMPLES);
      return spans;
    },
  };
}

/** Intervals between two borders of the path, at least. */
const LEAST_INTERVALS = 2;
/** Grid of the law without jerk limits. */
const REACHABILITY_INTERVALS = 1000;
const SPAN_SAMPLES = 256;

function anyJerkLimit(limits: PathLimits): boolean {
  const groups = [...limits.groups, ...(limits.ranges ?? []).flatMap((range) => range.groups ?? [])];
  return limits.jerk.some((j) => j < Number.POSITIVE_INFINITY) || groups.some((g) => g.jerk < Number.POSITIVE_INFINITY);
}

/** Breaks and range borders inside the path, ascending. */
function bordersOf(path: TimedPath, limits: PathLimits): number[] {
  const all = [...path.breaks, ...(limits.ranges ?? []).flatMap((range) => [range.from, range.to])];
  const sorted = all.filter((s) => s > 0 && s < path.length).sort((a, b) => a - b);
  return sorted.filter((s, i) => i === 0 || s - sorted[i - 1]! > 1e-9 * path.length);
}

/** A place where no channel or group that moves has an acceleration or jerk limit. */
function withoutAcceleration(use: PathUse): number | undefined {
  const { path, limits } = use;
  for (const share of [0.123, 0.5, 0.871]) {
    const s = share * path.length;
    path.evaluate(s, use.c, use.c1, use.c2, use.c3);
    for (const array of [use.c1, use.c2, use.c3]) {
      if (!array.every(Number.isFinite)) {
        throw new ContractError(
          `timePath: path.evaluate must give finite derivatives, got ${array.join(" ")} at s = ${s}`,
        );
      }
    }
    let limited = false;
    for (let i = 0; i < path.channels; i++) {
      if (use.c1[i] !== 0 && Math.min(limits.acceleration[i]!, limits.jerk[i]!) < Number.POSITIVE_INFINITY)
        limited = true;
    }
    for (const group of limits.groups) {
      if (Math.min(group.acceleration, group.jerk) === Number.POSITIVE_INFINITY) continue;
      for (let i = group.first; i < group.first + group.size; i++) if (use.c1[i] !== 0) limited = true;
    }
    if (!limited) return s;
  }
  return undefined;
}

/** The first place of a coarse scan where holding still takes (nearly) all of a torque limit. */
function torqueAtRest(use: PathUse): PathTimingOutcome | undefined {
  const torque = use.limits.torque;
  if (!torque) return undefined;
  const steps = 32;
  for (let k = 0; k <= steps; k++) {
    const s = (use.path.length * k) / steps;
    torque.coefficients(s, use.ta, use.tb, use.tc);
    for (let i = 0; i < torque.rows; i++) {
      const share = Math.abs(use.tc[i]!) / torque.limit[i]!;
      if (share > MOST_AT_REST) {
        return { ok: false, reason: "torque at rest", s, limit: limitName(limitId(LIMIT.torque, i)), use: share };
      }
    }
  }
  return undefined;
}
