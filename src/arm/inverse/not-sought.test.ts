/** Out of reach without asking for the nearest pose: told at once, for every method. */
import { describe, expect, test } from "vitest";
import { describeDh } from "../../../test/arms/describe.ts";
import { poseFromAbc } from "../../math/pose.ts";
import type { Radians } from "../../math/units.ts";
import { buildArm } from "../build.ts";
import { forwardKinematics } from "../forward.ts";
import { createInverse } from "./create.ts";

const right = Math.PI / 2;
const rows = {
  "spherical wrist": [
    [0.4318, 0, 0],
    [0.02, -right, 0.15],
    [0, right, 0.43],
    [0, -right, 0],
    [0, 0, 0.05],
  ],
  "general axes": [
    [0.4, 0.3, 0.05],
    [0.1, -1.2, 0.15],
    [0.05, right, 0.3],
    [0.03, -1.1, 0.02],
    [0, 0.1, 0.05],
  ],
  "numeric (5 joints)": [
    [0.4, 0, 0],
    [0.3, 0, 0],
    [0, -right, 0.1],
    [0, 0, 0.05],
  ],
};

describe("the nearest pose not sought", () => {
  test.each(Object.entries(rows))("%s", (name, table) => {
    const dh = [[0, right, 0.3], ...table].map(([a, alpha, d]) => ({ a: a!, alpha: alpha!, d: d!, theta: 0 }));
    const arm = buildArm(describeDh(name, dh));
    const inverse = createInverse(arm);
    const far = inverse.solve(
      poseFromAbc([3, 0, 0], 0 as Radians, 0 as Radians, 0 as Radians),
      inverse.result(),
      false,
    );
    expect(far).toMatchObject({ count: 0, exact: false, positionError: Number.POSITIVE_INFINITY });
    const q = Float64Array.from({ length: arm.n }, (_, i) => 0.3 + 0.1 * i);
    const pose = forwardKinematics(arm, q, new Float64Array(16));
    const asked = inverse.solve(pose, inverse.result());
    const unasked = inverse.solve(pose, inverse.result(), false);
    expect(asked.exact).toBe(true);
    expect(unasked).toEqual(asked);
  });
});
