import { expect, it } from "vitest";
import { limitedPuma } from "../../test/arms/tending.ts";
import { buildArm, forwardKinematics } from "../arm/index.ts";
import { identityPose } from "../math/pose.ts";
import type { Motion } from "../motion/index.ts";
import { createAccelerationMeter } from "./held-acceleration.ts";

it("looks at a motion of a month as often as at one of minutes", () => {
  let samples = 0;
  const motion = {
    duration: 2.6e6,
    sample(_: number, out: { qdd: Float64Array; q: Float64Array; qd: Float64Array }) {
      samples++;
      out.q.fill(0.3);
      out.qd.fill(0);
      out.qdd.fill(0);
      out.qdd[0] = 2;
    },
  } as unknown as Motion;
  const arm = buildArm(limitedPuma());
  const flangeFromPoint = identityPose();
  // Joint 1 alone accelerates: 2 rad/s² times the distance of the flange from its axis.
  const peak = createAccelerationMeter(arm)(motion, flangeFromPoint);
  const flange = forwardKinematics(arm, new Float64Array(6).fill(0.3), identityPose());
  expect(peak).toBeCloseTo(2 * Math.hypot(flange[3]!, flange[7]!), 12);
  expect(samples).toBeLessThan(10_000);
});
