/** Kinematics and dynamics of 1,000 random arms against the KDL library, computed live. See README.md. */
import { spawnSync } from "node:child_process";
import { fileURLToPath } from "node:url";
import { expect, test } from "vitest";
import { buildKdl } from "../../../bench/build-kdl.ts";
import {
  biasAcceleration,
  buildArm,
  createDynamics,
  forwardKinematics,
  geometricJacobian,
} from "../../../src/arm/index.ts";
import type { ArmDescription } from "../../../src/cell/arm-description.ts";
import { identityPose } from "../../../src/math/pose.ts";
import { mulberry32, randomArm } from "../../arms/random.ts";

const ARMS = 1000;
const STATES_PER_ARM = 3;
/** Largest difference over the size of the compared quantity (at least 1): rounding of two different orders of work. */
const TOLERANCE = 1e-13;

interface State {
  readonly q: number[];
  readonly qd: number[];
  readonly qdd: number[];
  readonly gravity: number[];
}

function describe(arm: ArmDescription): string {
  const lines = arm.joints.map((joint, i) => {
    const { mass, centre, tensor } = arm.links[i + 1]!.inertia!;
    const kind = joint.kind === "prismatic" ? "p" : "r";
    return [
      kind,
      ...joint.parentFromJoint.subarray(0, 12),
      ...joint.axis,
      joint.motorInertia,
      mass,
      ...centre,
      ...tensor,
    ].join(" ");
  });
  return [`arm ${arm.joints.length}`, ...lines, arm.lastFromFlange.subarray(0, 12).join(" "), ""].join("\n");
}

const build = buildKdl(
  fileURLToPath(new URL("kdl.cpp", import.meta.url)),
  fileURLToPath(new URL("build", import.meta.url)),
);
const inCi = process.env["CI"] === "true";

test.skipIf(!build.ok && !inCi)(
  `${ARMS} random arms agree with KDL${build.ok ? "" : ` (skipped: ${build.reason})`}`,
  () => {
    if (!build.ok) throw new Error(`KDL is required in CI: ${build.reason}`);
    const random = mulberry32(20240611);
    const arms = Array.from({ length: ARMS }, () => {
      const description = randomArm(random);
      const n = description.joints.length;
      const list = (size: number, span: number) => Array.from({ length: size }, () => span * (2 * random() - 1));
      const states: State[] = Array.from({ length: STATES_PER_ARM }, () => ({
        q: list(n, Math.PI),
        qd: list(n, 2),
        qdd: list(n, 5),
        gravity: list(3, 10),
      }));
      return { description, states };
    });
    const input = arms.map(
      ({ description, states }) =>
        describe(description) +
        states.map(({ q, qd, qdd, gravity }) => `state ${[...q, ...qd, ...qdd, ...gravity].join(" ")}\n`).join(""),
    );
    const run = spawnSync(build.binary, { input: input.join(""), encoding: "utf8", maxBuffer: 1 << 28 });
    expect(run.status, run.stderr).toBe(0);
    const lines = run.stdout.trimEnd().split("\n");
    expect(lines.length).toBe(ARMS * STATES_PER_ARM);

    const worst = { pose: 0, jacobian: 0, bias: 0, torque: 0, inertia: 0 };
    let line = 0;
    for (const { description, states } of arms) {
      const arm = buildArm(description);
      const { n } = arm;
      const dynamics = createDynamics(arm);
      for (const { q, qd, qdd, gravity } of states) {
        const answer = lines[line++]!.trim().split(" ").map(Number);
        let at = 0;
        const compare = (what: keyof typeof worst, ours: ArrayLike<number>) => {
          const theirs = answer.slice(at, at + ours.length);
          at += ours.length;
          expect(theirs.every(Number.isFinite)).toBe(true);
          const size = Math.max(1, ...theirs.map(Math.abs));
          for (let k = 0; k < ours.length; k++) {
            const difference = Math.abs(ours[k]! - theirs[k]!) / size;
            worst[what] = Math.max(worst[what], difference); // keeps NaN
          }
        };
        compare("pose", forwardKinematics(arm, q, identityPose()).subarray(0, 12));
        compare("jacobian", geometricJacobian(arm, q, undefined, new Float64Array(6 * n)));
        compare("bias", biasAcceleration(arm, q, qd, undefined, new Float64Array(6)));
        compare("torque", dynamics.torque(q, qd, qdd, gravity, undefined, new Float64Array(n)));
        compare("inertia", dynamics.massMatrix(q, undefined, new Float64Array(n * n)));
        expect(at).toBe(answer.length);
      }
    }
    for (const [what, difference] of Object.entries(worst)) expect(difference, what).toBeLessThan(TOLERANCE);
    if (process.env["SHOW_WORST"]) process.stderr.write(`${JSON.stringify(worst)}\n`);
  },
);
