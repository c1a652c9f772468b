import { readFileSync } from "node:fs";
import { describe, expect, it } from "vitest";
import { buildArm, createDynamics, forwardKinematics } from "../arm/index.ts";
import { type Cell, loadCell } from "../cell/index.ts";
import type { GoStep, PressStep } from "../cell/steps.ts";
import type { MoveContext } from "../cycle/index.ts";
import { compose, type Pose } from "../math/pose.ts";
import type { Metres, MetresPerSecond, Newtons, Seconds } from "../math/units.ts";
import { activeTcp, carriedLoad } from "./load.ts";
import { createMover, gravityInBase } from "./mover.ts";
import { pressTorqueFailure, pushDirection } from "./press.ts";

const file = new URL("../../test/cells/small-lathe.yaml", import.meta.url);
const loaded = loadCell("small-lathe.yaml", { read: () => ({ text: readFileSync(file, "utf8") }) }, {});
if (!loaded.ok) throw new Error("the fixture does not load");
const cell: Cell = loaded.value;
const arm = buildArm(cell.arm);
const mover = createMover(cell, arm);
const held = new Map([["gripper", { part: "short", stage: "raw", grip: "end" }]]);

/** The arm 2 mm in front of the chuck's place, with a part. The grip's z axis runs against the part's. */
const atChuck = (): MoveContext => {
  const context: MoveContext = {
    q: Float64Array.from(cell.home),
    variant: "short",
    places: new Map(),
    held,
    gripper: "gripper",
  };
  const go: GoStep = {
    kind: "go",
    path: [],
    id: "to the chuck",
    to: {
      at: { default: "lathe.chuck", variants: new Map() },
      kind: "holder",
      bring: "part",
      offset: { in: "target", pose: Float64Array.of(1, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1, 0.002, 0, 0, 0, 1) },
    },
    by: "joint",
    speed: { constant: false },
    blend: 0 as Metres,
  };
  const outcome = mover.go([go], context);
  if (!outcome.ok) throw new Error(outcome.failure.message);
  return { ...context, q: outcome.end };
};

const pressStep = (id: string, expectMm = 2): PressStep => ({
  kind: "press",
  path: [],
  id,
  force: 20 as Newtons,
  time: 2 as Seconds,
  travel: 0.005 as Metres,
  expect: (expectMm / 1000) as Metres,
  speed: 0.01 as MetresPerSecond,
});

const partAt = (q: Float64Array): Pose => {
  const worldFromFlange = compose(cell.worldFromBase, forwardKinematics(arm, q, new Float64Array(16)));
  return compose(worldFromFlange, activeTcp(cell, "gripper", held));
};

describe("press", () => {
  it("pushes a held part along the gripper's z axis, whatever axes the part has, and stays at the contact", () => {
    const context = atChuck();
    const outcome = mover.press(pressStep("expect 2"), context);
    if (!outcome.ok) throw new Error(outcome.failure.message);
    // 2 mm at 10 mm/s, then 2 s.
    expect(outcome.duration).toBeCloseTo(2.2, 12);
    const chuck = cell.holders.get("lathe.chuck")!.places[0]!.worldFromPlace;
    const part = partAt(outcome.end);
    for (let k = 0; k < 12; k++) expect(part[k]).toBeCloseTo(chuck[k]!, 8);
  });

  it("stays where it is when the contact is there already", () => {
    const context = atChuck();
    const outcome = mover.press(pressStep("expect 0", 0), context);
    expect(outcome).toMatchObject({ ok: true, duration: 2, end: context.q });
  });

  it("states the force that the weakest joint allows: that much passes, a newton more does not", () => {
    const { q } = atChuck();
    const tcp = cell.tool.grippers.get("gripper")!.flangeFromTcp;
    const push = { q, flangeFromGripper: tcp, flangeFromPoint: activeTcp(cell, "gripper", held) };
    const gravity = gravityInBase(cell);
    const load = carriedLoad(cell, held);
    // By virtual work, differentiating the forward kinematics: torque of joint i per newton = direction · dp/dq.
    const still = new Float64Array(arm.n);
    const holding = createDynamics(arm).torque(q, still, still, gravity, load, new Float64Array(arm.n));
    const direction = pushDirection(arm, push);
    const along = (joint: number, h: number) => {
      const turned = Float64Array.from(q);
      turned[joint]! += h;
      const p = compose(forwardKinematics(arm, turned, new Float64Array(16)), push.flangeFromPoint);
      return direction.reduce((sum, d, k) => sum + d * p[4 * k + 3]!, 0);
    };
    const most = Array.from({ length: arm.n }, (_, i) => {
      const perNewton = (along(i, 1e-5) - along(i, -1e-5)) / 2e-5;
      return Math.max((arm.torque[i]! - holding[i]!) / perNewton, (-arm.torque[i]! - holding[i]!) / perNewton);
    });
    const least = Math.min(...most);
    expect(least).toBeGreaterThan(50);
    const failureAt = (force: number) => pressTorqueFailure(arm, push, force as Newtons, gravity, load);
    expect(failureAt(least - 0.1)).toBeUndefined();
    const failure = failureAt(least + 1)!;
    expect(failure).toMatchObject({ kind: "torque", joint: most.indexOf(least) });
    expect(failure.mend).toContain(`at most ${Math.floor(least)} N`);
    expect(pressTorqueFailure(arm, push, 1e6 as Newtons, gravity, undefined)).toBeUndefined();
  });
});
