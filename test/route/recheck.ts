/** A route looked at state by state, by other means than those it was found with. */
import { forwardKinematics, linkFrames } from "../../src/arm/index.ts";
import { type CarriedBody, createBodySet, newDistance } from "../../src/clearance/index.ts";
import { identityPose } from "../../src/math/pose.ts";
import type { RouteScene } from "../../src/route/types.ts";

/** Least distance (m) of all pairs over states at most `step` apart in joint space, and the first joint limit broken (-1: none). */
export function leastSampled(
  scene: RouteScene,
  path: readonly Float64Array[],
  step: number,
): { readonly least: number; readonly outside: boolean } {
  const { arm } = scene;
  const { n } = arm;
  const set = createBodySet(scene.bodies as readonly CarriedBody[], n + 1, scene.pairs);
  const links = new Float64Array(12 * (n + 1)),
    frames = new Float64Array(12 * (n + 1));
  const flange = identityPose();
  const out = newDistance();
  let least = Number.POSITIVE_INFINITY,
    outside = false;
  for (let k = 1; k < path.length; k++) {
    const a = path[k - 1]!,
      b = path[k]!;
    const count = Math.max(1, Math.ceil(Math.hypot(...a.map((v, i) => b[i]! - v)) / step));
    for (let j = 0; j <= count; j++) {
      const q = a.map((v, i) => v + ((b[i]! - v) * j) / count);
      if (q.some((v, i) => v < arm.min[i]! || v > arm.max[i]!)) outside = true;
      linkFrames(arm, q, links);
      frames.set(links.subarray(12));
      frames.set(forwardKinematics(arm, q, flange).subarray(0, 12), 12 * n);
      set.place(frames);
      least = Math.min(least, set.minimumDistance(out));
    }
  }
  return { least, outside };
}
