/**
 * Reference laws s = g(u), u in [0, 1]: increasing piecewise cubics that leave a rest like the jerk-limited optimum does
 * (s ~ u³, so that u̇ stays finite and away from zero at rest) and pass a moving end with g' > 0. The third derivative may
 * jump between the pieces.
 */
import { doubleS, rampTime } from "./double-s.ts";
import { intervalOf } from "./interval-of.ts";

export interface ReferenceLaw {
  /** Piece borders from 0 to 1. */
  readonly starts: Float64Array;
  /** g, g', g'', g''' at the start of each piece. */
  readonly states: Float64Array;
  /** g at u = 1. */
  readonly end: number;
  /** Rough duration the law stands for, s. */
  readonly duration: number;
}

/** The acceleration of a reference law is built up within no less than this part of its duration. */
const MOST_PHASES = 100;

/** Rough bounds of ṡ, s̈ and s⃛. */
export interface RoughBounds {
  readonly velocity: number;
  readonly acceleration: number;
  readonly jerk: number;
}

/**
 * Double-S law from s0 to s1 > s0 with the given ṡ at the ends (0: at rest) under rough bounds, scaled to unit duration.
 * Where the room is too short for the speed change, one cubic of the right end conditions.
 */
export function referenceLaw(s0: number, s1: number, sd0: number, sd1: number, bounds: RoughBounds): ReferenceLaw {
  const { acceleration } = bounds;
  const velocity = Math.max(bounds.velocity, sd0, sd1);
  const distance = s1 - s0;
  // Jerk phases neither of no width nor, where nothing limits the jerk, missing.
  const time = distance / velocity + Math.min(velocity / acceleration, Math.sqrt(distance / acceleration));
  const jerk = Math.min(bounds.jerk, time > 0 ? (MOST_PHASES * acceleration) / time : Number.POSITIVE_INFINITY);
  const rise = ((sd0 + sd1) / 2) * rampTime(Math.abs(sd1 - sd0), acceleration, jerk);
  if (rise > 0.9 * (s1 - s0)) return cubicReference(s0, s1, sd0, sd1);
  const law = doubleS(0, s1 - s0, sd0, sd1, velocity, acceleration, jerk);
  const T = law.duration;
  const pieces = law.starts.length - 1;
  const starts = law.starts.map((t) => t / T);
  starts[pieces] = 1;
  const states = new Float64Array(4 * pieces);
  for (let k = 0; k < pieces; k++) {
    for (let d = 0; d < 4; d++) states[4 * k + d] = law.states[4 * k + d]! * T ** d;
    states[4 * k] = states[4 * k]! + s0;
  }
  return { starts, states, end: s1, duration: T };
}

/** One cubic from s0 to s1; at most one of the end speeds is 0. */
function cubicReference(s0: number, s1: number, sd0: number, sd1: number): ReferenceLaw {
  const d = s1 - s0;
  const states = sd0 === 0 ? [s0, 0, 0, 6 * d] : sd1 === 0 ? [s0, 3 * d, -6 * d, 6 * d] : [s0, d, 0, 0];
  return { starts: Float64Array.of(0, 1), states: Float64Array.from(states), end: s1, duration: (2 * d) / (sd0 + sd1) };
}

/** g and its first three derivatives at u into out[0..3]; on a piece border `side` picks the piece. */
export function referenceAt(law: ReferenceLaw, u: number, side: 1 | -1, out: Float64Array): void {
  const pieces = law.starts.length - 1;
  let k = intervalOf(law.starts, u, pieces);
  if (side < 0 && k > 0 && u <= law.starts[k]!) k--;
  const d = u - law.starts[k]!;
  const s = law.states;
  const g1 = s[4 * k + 1]!;
  const g2 = s[4 * k + 2]!;
  const g3 = s[4 * k + 3]!;
  out[0] = s[4 * k]! + d * (g1 + d * (g2 / 2 + (d * g3) / 6));
  out[1] = Math.max(0, g1 + d * (g2 + (d * g3) / 2));
  out[2] = g2 + d * g3;
  out[3] = g3;
}

const work = new Float64Array(4);

/** The u in [0, 1] with g(u) = s; g increases. */
export function invertReference(law: ReferenceLaw, s: number): number {
  const first = law.states[0]!;
  if (s >= law.end) return 1;
  if (s <= first) return 0;
  let low = 0;
  let high = 1;
  let u = (s - first) / (law.end - first);
  for (let i = 0; i < 100; i++) {
    referenceAt(law, u, 1, work);
    const miss = work[0]! - s;
    if (miss > 0) high = u;
    else low = u;
    let next = work[1]! > 0 ? u - miss / work[1]! : (low + high) / 2;
    if (!(next > low && next < high)) next = (low + high) / 2;
    if (Math.abs(next - u) <= 4e-16 || next === u) return next;
    u = next;
  }
  return u;
}
