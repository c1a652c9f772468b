/** The planning problem of the bench scene: out of the part stand, through the machine's opening, to the chuck. */
import { type Arm, buildArm } from "../../src/arm/index.ts";
import { jointsFromDh } from "../../src/cell/dh.ts";
import type { SweptBody } from "../../src/clearance/swept/types.ts";
import { compose } from "../../src/math/pose.ts";
import type { RouteRequest, RouteScene } from "../../src/route/types.ts";
import { describeDh } from "../arms/describe.ts";
import { sceneArm, sceneBodies, scenePairs } from "../clearance/bench-scene.ts";

/** The arm of the bench scene, every joint from -π to π. */
export function benchArm(): Arm {
  const description = describeDh("bench arm", sceneArm);
  const joints = description.joints.map((joint) => ({ ...joint, min: -Math.PI, max: Math.PI }));
  return buildArm({ ...description, joints });
}

export function benchRouteScene(margin = 0): RouteScene {
  const rows = sceneArm.map((row) => ({ kind: "revolute" as const, theta: 0, ...row }));
  const { ownerFromDh } = jointsFromDh(rows, "standard");
  const bodies = sceneBodies();
  return {
    arm: benchArm(),
    bodies: bodies.map(
      ({ frame, frameFromBody, body }): SweptBody =>
        frame === undefined || frame === 0
          ? { body, frame: -1, frameFromBody }
          : { body, frame: frame - 1, frameFromBody: compose(ownerFromDh[frame]!, frameFromBody) },
    ),
    slides: [],
    pairs: scenePairs(bodies),
    margin,
  };
}

export const benchRequest: Omit<RouteRequest, "seed"> = {
  start: Float64Array.of(-1.4468, -2.1723, -1.6803, -0.8597, 1.5708, 0.124),
  goals: [Float64Array.of(0.1895, -2.5194, -1.1927, 0.5705, 1.3813, 1.5708)],
};
