/** Acceleration of a held part along a motion: what its grip must withstand. */
import { biasAcceleration, geometricJacobian } from "../arm/index.ts";
import type { Arm } from "../arm/model.ts";
import type { Pose } from "../math/pose.ts";
import type { MetresPerSecond2 } from "../math/units.ts";
import type { Motion } from "../motion/index.ts";

/** Sampling of the acceleration along a motion, s; within these numbers of samples, however long it lasts. */
const STEP = 0.02;
const LEAST_SAMPLES = 32;
const MOST_SAMPLES = 4096;

/** A meter of the largest acceleration (m/s², without gravity) of a point fixed to the flange along a motion. */
export function createAccelerationMeter(arm: Arm): (motion: Motion, flangeFromPoint: Pose) => MetresPerSecond2 {
  const { n } = arm;
  const state = { q: new Float64Array(n), qd: new Float64Array(n), qdd: new Float64Array(n) };
  const jacobian = new Float64Array(6 * n);
  const bias = new Float64Array(6);
  return (motion, flangeFromPoint) => {
    const samples = Math.min(MOST_SAMPLES, Math.max(LEAST_SAMPLES, Math.ceil(motion.duration / STEP)));
    let peak = 0;
    for (let k = 0; k <= samples; k++) {
      motion.sample((motion.duration * k) / samples, state);
      geometricJacobian(arm, state.q, flangeFromPoint, jacobian);
      biasAcceleration(arm, state.q, state.qd, flangeFromPoint, bias);
      let sum = 0;
      for (let r = 0; r < 3; r++) {
        let a = bias[r]!;
        for (let i = 0; i < n; i++) a += jacobian[r * n + i]! * state.qdd[i]!;
        sum += a * a;
      }
      if (sum > peak) peak = sum;
    }
    return Math.sqrt(peak);
  };
}
