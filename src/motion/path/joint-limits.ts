/** Where a followed path first leaves the joint limits. */
import type { Arm } from "../../arm/model.ts";
import type { JointCurve } from "./joint-curve.ts";

/** Joint values this far (rad or m) outside count as on the limit: rounding, not motion. */
const LIMIT_TOLERANCE = 1e-9;

export interface LimitCrossing {
  readonly joint: number;
  /** Parameter at which the joint passes the limit; 0 when it starts outside. */
  readonly s: number;
  readonly limit: number;
}

export interface JointLimitCheck {
  /** First crossing on [from, to], looked for at steps of `step` and at every turning point of a joint between them. */
  first(curve: JointCurve, from: number, to: number, step: number): LimitCrossing | undefined;
  /** Largest excess (rad or m) of one joint over its limits on [from, to]; 0 when it stays inside. */
  excess(curve: JointCurve, from: number, to: number, step: number, joint: number): number;
}

export function createJointLimitCheck(arm: Arm): JointLimitCheck {
  const { n } = arm;
  const [qa, ra, qb, rb, qm, rm, x2, x3] = Array.from({ length: 8 }, () => new Float64Array(n));

  const over = (value: number, joint: number): number => Math.max(value - arm.max[joint], arm.min[joint] - value, 0);

  /** Parameter in (a, b) at which the joint's rate vanishes, its sign differing at the ends. */
  const turningPoint = (curve: JointCurve, joint: number, a: number, b: number, rateA: number): number => {
    let low = a;
    let high = b;
    for (let k = 0; k < 40; k++) {
      const middle = (low + high) / 2;
      curve.evaluate(middle, qm, rm, x2, x3);
      if (rm[joint] * rateA > 0) low = middle;
      else high = middle;
    }
    return (low + high) / 2;
  };

  /** Crossing of the limit between a (inside) and b (outside). */
  const crossing = (curve: JointCurve, joint: number, a: number, b: number): LimitCrossing => {
    let low = a;
    let high = b;
    curve.evaluate(b, qm, rm, x2, x3);
    const limit = qm[joint] > arm.max[joint] ? arm.max[joint] : arm.min[joint];
    for (let k = 0; k < 60 && high - low > 1e-15; k++) {
      const middle = (low + high) / 2;
      curve.evaluate(middle, qm, rm, x2, x3);
      if (over(qm[joint], joint) > 0) high = middle;
      else low = middle;
    }
    return { joint, s: high, limit };
  };

  /** Visits the interval ends; `visit` returns true to stop. */
  const walk = (
    curve: JointCurve,
    from: number,
    to: number,
    step: number,
    visit: (a: number, b: number) => boolean,
  ): void => {
    const count = Math.max(1, Math.ceil((to - from) / step));
    curve.evaluate(from, qa, ra, x2, x3);
    for (let k = 1; k <= count; k++) {
      const a = from + ((to - from) * (k - 1)) / count;
      const b = k === count ? to : from + ((to - from) * k) / count;
      curve.evaluate(b, qb, rb, x2, x3);
      if (visit(a, b)) return;
      qa.set(qb);
      ra.set(rb);
    }
  };

  return {
    first(curve, from, to, step) {
      curve.evaluate(from, qa, ra, x2, x3);
      for (let j = 0; j < n; j++)
        if (over(qa[j], j) > LIMIT_TOLERANCE)
          return { joint: j, s: from, limit: qa[j] > arm.max[j] ? arm.max[j] : arm.min[j] };
      let found: LimitCrossing | undefined;
      walk(curve, from, to, step, (a, b) => {
        for (let j = 0; j < n; j++) {
          let end = over(qb[j], j) > LIMIT_TOLERANCE ? b : Number.NaN;
          if (
            Number.isNaN(end) &&
            ra[j] * rb[j] < 0 &&
            near(qa[j], qb[j], Math.abs(ra[j]) + Math.abs(rb[j]), b - a, j)
          ) {
            const peak = turningPoint(curve, j, a, b, ra[j]);
            curve.evaluate(peak, qm, rm, x2, x3);
            if (over(qm[j], j) > LIMIT_TOLERANCE) end = peak;
          }
          if (Number.isNaN(end)) continue;
          const cross = crossing(curve, j, a, end);
          if (found === undefined || cross.s < found.s) found = cross;
        }
        return found !== undefined;
      });
      return found;
    },
    excess(curve, from, to, step, joint) {
      let most = 0;
      walk(curve, from, to, step, (a, b) => {
        most = Math.max(most, over(qa[joint], joint), over(qb[joint], joint));
        if (ra[joint] * rb[joint] < 0) {
          const peak = turningPoint(curve, joint, a, b, ra[joint]);
          curve.evaluate(peak, qm, rm, x2, x3);
          most = Math.max(most, over(qm[joint], joint));
        }
        return false;
      });
      return most;
    },
  };

  /** Whether a turn within the interval could reach a limit, judged by the rates at its ends. */
  function near(a: number, b: number, rates: number, width: number, joint: number): boolean {
    const reach = rates * width;
    return Math.max(a, b) + reach > arm.max[joint] || Math.min(a, b) - reach < arm.min[joint];
  }
}
