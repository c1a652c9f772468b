/** A run of the arm from standstill to standstill with its timing: where on the path it is at each time, and what limits it. */
import type { Arm } from "../arm/model.ts";
import type { Leg } from "./path/leg.ts";
import type { Profile } from "./timing/index.ts";
import { sampleProfile, straightJointMotion } from "./timing/index.ts";
import type { LimitKind, LimitSpan } from "./types.ts";

export interface TimedRun {
  /** s */
  readonly duration: number;
  /** Path parameter and its first three derivatives by time, at a time in [0, duration], into out[0..3]. */
  at(time: number, out: Float64Array): void;
  /** Time at which the path parameter is reached. */
  timeAt(s: number): number;
  /** Times counted from the start of the run. */
  readonly limits: readonly LimitSpan[];
  /** Times at which the acceleration along the path has a kink, 0 and the duration included; empty where it has many. */
  readonly kinks: ArrayLike<number>;
}

/** Joint acceleration (per s²) assumed where neither acceleration nor jerk is stated: the top speed within a millisecond. */
const UNSTATED_RAMP = 1e-3;

/** One joint-interpolated segment alone, in closed form: every joint limit met by the joint that it binds most. */
export function timeJointLeg(arm: Arm, leg: Leg, fraction: number): TimedRun {
  const { n } = arm;
  const velocity = arm.velocity.map((v) => v * fraction);
  const acceleration = statedAcceleration(arm);
  const { duration, law } = straightJointMotion(leg.startQ, leg.endQ, velocity, acceleration, arm.jerk);
  const { length } = leg;
  /** Joint whose limit binds along the line: the least limit over distance. */
  const binding = (limits: ArrayLike<number>): number => {
    let best = -1;
    let least = Number.POSITIVE_INFINITY;
    for (let i = 0; i < n; i++) {
      const ratio = limits[i] / Math.abs(leg.endQ[i] - leg.startQ[i]);
      if (ratio < least) {
        least = ratio;
        best = i;
      }
    }
    return best;
  };
  return {
    duration,
    at(time, out) {
      sampleProfile(law, time, out);
      for (let k = 0; k < 4; k++) out[k] *= length;
    },
    timeAt: (s) => timeOfValue(law, s / length),
    limits: phaseSpans(law, binding(velocity), binding(acceleration), binding(arm.jerk)),
    kinks: law.starts,
  };
}

/** Acceleration limits, with a stand-in where an arm states neither acceleration nor jerk. */
export function statedAcceleration(arm: Arm): Float64Array {
  return arm.acceleration.map((a, i) =>
    a < Number.POSITIVE_INFINITY || arm.jerk[i] < Number.POSITIVE_INFINITY ? a : arm.velocity[i] / UNSTATED_RAMP,
  );
}

/** What each phase of a double-S or trapezoidal law runs at: constant jerk, constant acceleration or constant speed. */
function phaseSpans(law: Profile, velocity: number, acceleration: number, jerk: number): LimitSpan[] {
  const spans: LimitSpan[] = [];
  for (let k = 0; k + 1 < law.starts.length; k++) {
    const [kind, joint]: [LimitKind, number] =
      law.states[4 * k + 3] !== 0
        ? ["jerk", jerk]
        : law.states[4 * k + 2] !== 0
          ? ["acceleration", acceleration]
          : ["velocity", velocity];
    const before = spans.at(-1);
    const from = law.starts[k];
    const to = law.starts[k + 1];
    if (before !== undefined && before.kind === kind && before.joint === joint)
      spans[spans.length - 1] = { ...before, to };
    else spans.push({ from, to, kind, joint });
  }
  return spans;
}

const state = new Float64Array(4);

/** Time at which a rising law reaches a value, by bisection. */
export function timeOfValue(law: Profile, value: number): number {
  let low = 0;
  let high = law.duration;
  for (let k = 0; k < 60; k++) {
    const middle = (low + high) / 2;
    sampleProfile(law, middle, state);
    if (state[0] < value) low = middle;
    else high = middle;
  }
  return high;
}
