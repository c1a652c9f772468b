/** Scenes as the floors `clearance/swept` and `route` take them, with the ends of a route to be found. */
import { type Arm, buildArm, forwardKinematics, linkFrames } from "../../src/arm/index.ts";
import type { ArmDescription } from "../../src/cell/arm-description.ts";
import { standardStep } from "../../src/cell/dh.ts";
import { createBodySet, newDistance } from "../../src/clearance/index.ts";
import type { SweptBody } from "../../src/clearance/swept/types.ts";
import { compose, identityPose } from "../../src/math/pose.ts";
import type { RouteScene } from "../../src/route/types.ts";
import { describeDh, type TableRow } from "../arms/describe.ts";
import { type SceneBody, sceneArm, sceneBodies, scenePairs } from "./bench-scene.ts";

export interface RouteProblem {
  readonly name: string;
  readonly scene: RouteScene;
  readonly start: Float64Array;
  readonly goal: Float64Array;
}

/** An arm from a standard DH table, with the least and greatest value of each joint, rad. */
export function limitedArm(
  name: string,
  table: readonly TableRow[],
  limits: readonly (readonly [number, number])[],
): Arm {
  const free = describeDh(name, table);
  const description: ArmDescription = {
    ...free,
    joints: free.joints.map((joint, i) => ({ ...joint, min: limits[i]![0], max: limits[i]![1] })),
  };
  return buildArm(description);
}

/** Bodies of DH frames 1 to n in the link frames of the arm's description; those of frame 0 and of the world stand still. */
export function sweptBodies(table: readonly TableRow[], bodies: readonly SceneBody[]): SweptBody[] {
  return bodies.map(({ frame, frameFromBody, body }) => {
    if (frame === undefined || frame === 0) return { body, frame: -1, frameFromBody };
    const row = table[frame - 1]!;
    return { body, frame: frame - 1, frameFromBody: compose(standardStep({ theta: 0, ...row }), frameFromBody) };
  });
}

/** The arm of bench-scene.ts from over the part stand to 0.35 m inside the machine. No margin: bodies must not overlap. */
export function benchProblem(): RouteProblem {
  const bodies = sceneBodies();
  return {
    name: "lathe",
    scene: {
      arm: limitedArm("offset wrist", sceneArm, Array(6).fill([-Math.PI, Math.PI])),
      bodies: sweptBodies(sceneArm, bodies),
      slides: [],
      pairs: scenePairs(bodies),
      margin: 0,
    },
    start: Float64Array.of(-1.4468, -2.1723, -1.6803, -0.8597, 1.5708, 0.124),
    goal: Float64Array.of(0.1895, -2.5194, -1.1927, 0.5705, 1.3813, 1.5708),
  };
}

/** A random state within the limits of the scene's arm. */
export function randomState({ arm }: RouteScene, random: () => number): Float64Array {
  return Float64Array.from({ length: arm.n }, (_, i) => arm.min[i]! + (arm.max[i]! - arm.min[i]!) * random());
}

/** Least distance over all pairs of a scene without slides in single states; nothing of the floor `route` is used. */
export function stateDistance({ arm, bodies, pairs }: RouteScene): (q: ArrayLike<number>) => number {
  const set = createBodySet(bodies, arm.n + 1, pairs);
  const links = new Float64Array(12 * (arm.n + 1)),
    frames = new Float64Array(12 * (arm.n + 1)),
    flange = identityPose(),
    out = newDistance();
  return (q) => {
    frames.set(linkFrames(arm, q, links).subarray(12));
    frames.set(forwardKinematics(arm, q, flange).subarray(0, 12), 12 * arm.n);
    set.place(frames);
    return set.minimumDistance(out);
  };
}

/** The state at `share` of the way from one to another. */
export const between = (from: Float64Array, to: Float64Array, share: number): Float64Array =>
  from.map((v, i) => v + share * (to[i]! - v));

export const pathLength = (path: readonly Float64Array[]): number =>
  path.slice(1).reduce((sum, to, k) => sum + Math.hypot(...to.map((v, i) => v - path[k]![i]!)), 0);

export const withinLimits = ({ arm }: RouteScene, path: readonly Float64Array[]): boolean =>
  path.every((q) => q.every((v, i) => v >= arm.min[i]! && v <= arm.max[i]!));
