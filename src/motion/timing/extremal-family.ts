/**
 * The two families of motions of one axis that reach as far as possible up or down in a given time.
 *
 * For fixed end speeds and accelerations, a motion that ends as far up as it can in its time has jerk + 0 - 0 (cruise)
 * - 0 + (maximum principle: constant costate of position, quadratic costate of acceleration; the zeros are stretches at
 * ±A or at +V). With h the highest and l the lowest acceleration and t2, t6 the times kept at +A and -A, the speed
 * condition is
 *
 *     (h² + A J t2) - (l² + A J t6) = J (v1 - v0) + (a0² - a1²)/2 = c.
 *
 * If c < 0 the motion is looked at backwards in time (t → T - t, p → -p, which keeps the jerk pattern and turns c into
 * -c), so c >= 0 and h = √(c + l²) with the longer holds. The family then has one parameter, the low point, running down
 * from l = a1; past l = -A it counts the time kept at -A, past the top speed it counts cruise time. Times grow along it.
 * Motions with h < a0 do not exist: this may cut the family into a short first part (`lens`, all accelerations of one
 * sign) and the main part, with a gap of unreachable times between them.
 */

const ROUNDING = 1e-10;

/** State-to-state problem of one axis. */
export interface AxisEnds {
  readonly p0: number;
  readonly v0: number;
  readonly a0: number;
  readonly p1: number;
  readonly v1: number;
  readonly a1: number;
}

/** One family (up: sign 1, down: sign -1) over its parameter u in [0, Infinity); see {@link evaluateFamily}. */
export interface ExtremalFamily {
  readonly sign: 1 | -1;
  readonly backwards: boolean;
  /** Ends as seen by the family: mirrored if sign is -1, then backwards if c was negative. */
  readonly v0: number;
  readonly a0: number;
  readonly v1: number;
  readonly a1: number;
  readonly velocity: number;
  readonly acceleration: number;
  readonly jerk: number;
  readonly c: number;
  /** Parameter range of the lens; undefined when there is none. */
  readonly lens: { readonly from: number; readonly to: number } | undefined;
  /** Parameter at which the main part starts. */
  readonly from: number;
  /** Parameter at which the top speed is reached; cruise time is u - top beyond. */
  readonly top: number;
}

/**
 * Family for the given ends. The ends must be admissible (see {@link admissible}).
 * The parameter is u = -l (low point of the acceleration) up to A, then A + J·(hold at -A), then top + cruise time.
 */
export function extremalFamily(
  ends: AxisEnds,
  velocity: number,
  acceleration: number,
  jerk: number,
  sign: 1 | -1,
): ExtremalFamily {
  let v0 = sign * ends.v0;
  let a0 = sign * ends.a0;
  let v1 = sign * ends.v1;
  let a1 = sign * ends.a1;
  let c = jerk * (v1 - v0) + (a0 * a0 - a1 * a1) / 2;
  // On the border c = 0 the side decides on which all accelerations are positive.
  const backwards = c < 0 || (a0 < 0 && a1 < 0 && c <= ROUNDING * (a0 * a0 + a1 * a1));
  if (backwards) {
    [v0, v1] = [v1, v0];
    [a0, a1] = [-a1, -a0];
    c = Math.max(0, -c);
  }
  // h >= a0 needs l² >= a0² - c when a0 > 0.
  const lacking = a0 > 0 ? a0 * a0 - c : 0;
  let from = -a1;
  let lens: ExtremalFamily["lens"];
  if (lacking > 0) {
    const low = Math.sqrt(lacking);
    // The tolerance keeps states on one stretch of constant jerk, which the lens shrinks to, together despite rounding.
    if (a1 >= low - ROUNDING * (a0 + low)) lens = { from: -a1, to: Math.max(-a1, -low) };
    from = Math.max(-a1, low);
  }
  // Peak speed v1 + (l² + A·hold·J - a1²/2)/J = V.
  const most = Math.max(0, jerk * (velocity - v1) + (a1 * a1) / 2);
  const atA = acceleration * acceleration;
  const top = most <= atA ? Math.sqrt(most) : acceleration + (most - atA) / acceleration;
  return {
    sign,
    backwards,
    v0,
    a0,
    v1,
    a1,
    velocity,
    acceleration,
    jerk,
    c,
    lens,
    from,
    top: Math.max(top, from),
  };
}

/**
 * Motion of parameter u: writes the seven piece durations (jerk + 0 - cruise - 0 +) in true time order to `durations` and
 * returns the displacement in the axis' own direction.
 */
export function evaluateFamily(family: ExtremalFamily, u: number, durations: Float64Array): number {
  const { acceleration: A, jerk: J, a0, a1, c } = family;
  let cruise = 0;
  let low = u;
  if (low > family.top) {
    cruise = low - family.top;
    low = family.top;
  }
  let hold6 = 0;
  if (low > A) {
    hold6 = (low - A) / J;
    low = A;
  }
  // `low` is -l: negative while the acceleration stays positive.
  const reach = c + low * low + A * J * hold6;
  let h = Math.sqrt(reach);
  let hold2 = 0;
  if (h > A) {
    hold2 = (reach - A * A) / (A * J);
    h = A;
  }
  const d1 = Math.max(0, h - a0) / J;
  const d7 = Math.max(0, a1 + low) / J;
  let d3: number;
  let d5: number;
  if (low >= 0) {
    d3 = h / J;
    d5 = low / J;
  } else {
    d3 = Math.max(0, h + low) / J;
    d5 = 0;
  }
  if (family.backwards) {
    durations[0] = d7;
    durations[1] = hold6;
    durations[2] = d5;
    durations[3] = cruise;
    durations[4] = d3;
    durations[5] = hold2;
    durations[6] = d1;
  } else {
    durations[0] = d1;
    durations[1] = hold2;
    durations[2] = d3;
    durations[3] = cruise;
    durations[4] = d5;
    durations[5] = hold6;
    durations[6] = d7;
  }
  // Displacement in family coordinates (the same forwards and backwards).
  let p = 0;
  let v = family.v0;
  let a = a0;
  p += d1 * (v + d1 * (a / 2 + (d1 * J) / 6));
  v += d1 * (a + (d1 * J) / 2);
  a += d1 * J;
  p += hold2 * (v + (hold2 * a) / 2);
  v += hold2 * a;
  p += d3 * (v + d3 * (a / 2 - (d3 * J) / 6));
  v += d3 * (a - (d3 * J) / 2);
  a -= d3 * J;
  p += cruise * v;
  p += d5 * (v + d5 * (a / 2 - (d5 * J) / 6));
  v += d5 * (a - (d5 * J) / 2);
  a -= d5 * J;
  p += hold6 * (v + (hold6 * a) / 2);
  v += hold6 * a;
  p += d7 * (v + d7 * (a / 2 + (d7 * J) / 6));
  return family.sign * p;
}

/** Sum of the seven durations. */
export function totalTime(durations: Float64Array): number {
  let t = 0;
  for (let i = 0; i < 7; i++) t += durations[i]!;
  return t;
}

/** Jerks of the seven pieces of a family, in true time order. */
export function familyJerks(family: ExtremalFamily): Float64Array {
  const j = family.sign * family.jerk;
  return Float64Array.of(j, 0, -j, 0, -j, 0, j);
}
