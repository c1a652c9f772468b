import { describe, expect, it } from "vitest";
import { planarArm } from "../../../test/route/simple-arms.ts";
import { identityPose } from "../../math/pose.ts";
import { createPlanner, type Motion, type MotionOutcome, type Segment } from "../../motion/index.ts";
import { fitBlends } from "./blends.ts";

const arm = planarArm([0.4, 0.3, 0.2], 3);
const free = {
  fraction: 1,
  toolSpeed: Number.POSITIVE_INFINITY,
  toolAcceleration: Number.POSITIVE_INFINITY,
  constant: false,
};
const noLimit = Number.POSITIVE_INFINITY;
const CORNERS = [
  [0.6, 0.2, 0],
  [0.9, 0.9, 0.3],
  [0.2, 1.2, 0.9],
  [-0.4, 0.6, 0.2],
].map((q) => Float64Array.from(q));

const asked: (readonly number[])[] = [];
function plan(blends: readonly number[]): MotionOutcome {
  asked.push(blends.slice());
  const segments = CORNERS.slice(1).map((to, i): Segment => ({ kind: "joint", to, blend: blends[i]!, speed: free }));
  return createPlanner({
    ...arm,
    velocity: arm.velocity.map(() => 2),
    acceleration: arm.acceleration.map(() => 8),
  }).plan({
    arm,
    start: CORNERS[0]!,
    segments,
    flangeFromTcp: identityPose(),
    tool: { speed: noLimit, acceleration: noLimit, jerk: noLimit, turnSpeed: noLimit, turnAcceleration: noLimit },
    payload: undefined,
    gravity: [0, 0, 0],
    lineStep: 0.002,
  });
}

/** Least distance in joint space that the motion keeps from a corner. */
function cutOff(motion: Motion, corner: number): { readonly least: number; readonly time: number } {
  const state = { q: new Float64Array(3), qd: new Float64Array(3), qdd: new Float64Array(3) };
  let least = Number.POSITIVE_INFINITY,
    at = 0;
  for (let k = 0; k <= 2000; k++) {
    const time = (k / 2000) * motion.duration;
    motion.sample(time, state);
    const away = Math.hypot(...state.q.map((v, i) => v - CORNERS[corner]![i]!));
    if (away < least) {
      least = away;
      at = time;
    }
  }
  return { least, time: at };
}

describe("blends", () => {
  it("are left as wide as the planner makes them where nothing is near", () => {
    const wide = fitBlends(plan, [1, 1, 0], () => undefined);
    if (!wide.ok) throw new Error("not planned");
    expect(wide.blends).toEqual([1, 1, 0]);
    expect(wide.motion.blends!.map((b) => b > 0.03)).toEqual([true, true, false]);
  });

  it("are drawn in at the corner that is cut too much, and only there", () => {
    asked.length = 0;
    const most = 0.02;
    const fitted = fitBlends(plan, [1, 1, 0], (motion) => {
      const { least, time } = cutOff(motion, 2);
      return least > most ? time : undefined;
    });
    if (!fitted.ok) throw new Error("not planned");
    expect(cutOff(fitted.motion, 2).least).toBeLessThanOrEqual(most);
    expect(fitted.blends[0]).toBe(1);
    expect(fitted.blends[1]).toBeLessThan(1);
    expect(fitted.blends[1]).toBeGreaterThan(0);
    // One step wider was too wide.
    expect(asked.length).toBeGreaterThan(1);
    const before = plan(asked.at(-2)!);
    expect(before.ok && cutOff(before.motion, 2).least).toBeGreaterThan(most);
  });

  it("end at 0, where the arm stops, when no rounding is allowed", () => {
    const exact = fitBlends(plan, [1, 1, 0], ({ blends, segmentEnds }) => {
      const rounded = blends!.findIndex((blend) => blend > 0);
      return rounded < 0 ? undefined : segmentEnds[rounded];
    });
    if (!exact.ok) throw new Error("not planned");
    expect(exact.blends).toEqual([0, 0, 0]);
    expect(exact.motion.blends).toEqual([0, 0, 0]);
    expect(exact.motion.duration).toBeGreaterThan((plan([1, 1, 0]) as { motion: Motion }).motion.duration);
  });

  it("tell the time at which even the corners themselves come too near, and pass on what cannot be planned", () => {
    const never = fitBlends(plan, [1, 1, 0], () => 0.25);
    expect(never).toEqual({ ok: false, nearAt: 0.25 });
    const failure = { kind: "torque", segment: 1, fraction: 0.5, message: "too heavy", mend: "less" } as const;
    expect(
      fitBlends(
        () => ({ ok: false, failure }),
        [1, 1, 0],
        () => undefined,
      ),
    ).toEqual({ ok: false, failure });
  });
});
