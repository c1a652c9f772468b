/** The URDF reader against KDL chains made from the same raw numbers by KDL's own roll-pitch-yaw and inertia. See README.md. */
import { spawnSync } from "node:child_process";
import { fileURLToPath } from "node:url";
import { expect, test } from "vitest";
import { buildKdl } from "../../../bench/build-kdl.ts";
import { buildArm, createDynamics, forwardKinematics, geometricJacobian } from "../../../src/arm/index.ts";
import { readUrdf } from "../../../src/exchange/index.ts";
import { mulberry32, randomDirection, randomInertia } from "../../arms/random.ts";

const ARMS = 200;
/** Largest difference over the size of the compared quantity (at least 1). */
const TOLERANCE = 1e-12;

const build = buildKdl(
  fileURLToPath(new URL("kdl.cpp", import.meta.url)),
  fileURLToPath(new URL("build", import.meta.url)),
);
const inCi = process.env["CI"] === "true";
const random = mulberry32(20240615);
const list = (count: number, span: number) => Array.from({ length: count }, () => span * (2 * random() - 1));

/** One chain as URDF text and as lines for the comparison program. */
function drawArm(): { readonly urdf: string; readonly kdl: string; readonly moving: number } {
  const moving = 3 + Math.floor(5 * random());
  const fixedAfter = Array.from({ length: moving + 1 }, () => Math.floor(3 * random()));
  const kinds = fixedAfter.flatMap((count, i) => [
    ...(i === 0 ? [] : [random() < 0.2 ? "p" : "r"]),
    ...Array.from({ length: count }, () => "f"),
  ]);
  const urdf = ['<robot name="drawn">', '<link name="l0"/>'];
  const kdl = [`joints ${kinds.length}`];
  kinds.forEach((kind, i) => {
    const xyz = list(3, 0.6).join(" ");
    const rpy = list(3, 4).join(" ");
    const axis = randomDirection(random).join(" ");
    const { mass, tensor } = randomInertia(random);
    const centre = list(3, 0.3).join(" ");
    const turn = list(3, 4).join(" ");
    const [xx, yy, zz, xy, xz, yz] = tensor;
    const type = { f: "fixed", p: "prismatic", r: "revolute" }[kind]!;
    urdf.push(
      `<link name="l${i + 1}"><inertial><origin xyz="${centre}" rpy="${turn}"/><mass value="${mass}"/><inertia ixx="${xx}" ixy="${xy}" ixz="${xz}" iyy="${yy}" iyz="${yz}" izz="${zz}"/></inertial></link>`,
      `<joint name="j${i}" type="${type}"><origin xyz="${xyz}" rpy="${rpy}"/><parent link="l${i}"/><child link="l${i + 1}"/><axis xyz="${axis}"/><limit lower="-9" upper="9"/></joint>`,
    );
    kdl.push([kind, xyz, rpy, axis, mass, centre, turn, ...tensor].join(" "));
  });
  return { urdf: [...urdf, "</robot>"].join("\n"), kdl: kdl.join("\n"), moving };
}

test.skipIf(!build.ok && !inCi)(
  `${ARMS} URDF texts mean what KDL makes of their numbers${build.ok ? "" : ` (skipped: ${build.reason})`}`,
  () => {
    if (!build.ok) throw new Error(`KDL is required in CI: ${build.reason}`);
    const drawn = Array.from({ length: ARMS }, () => {
      const arm = drawArm();
      return {
        ...arm,
        q: list(arm.moving, 3),
        qd: list(arm.moving, 2),
        qdd: list(arm.moving, 4),
        gravity: list(3, 10),
      };
    });
    const input = drawn.map(
      ({ kdl, q, qd, qdd, gravity }) => `${kdl}\nstate ${[...q, ...qd, ...qdd, ...gravity].join(" ")}\n`,
    );
    const run = spawnSync(build.binary, { input: input.join(""), encoding: "utf8", maxBuffer: 1 << 28 });
    expect(run.status, run.stderr).toBe(0);
    const lines = run.stdout.trimEnd().split("\n");
    expect(lines.length).toBe(ARMS);
    for (const [k, { urdf, moving: n, q, qd, qdd, gravity }] of drawn.entries()) {
      const read = readUrdf(urdf, "drawn.urdf");
      if (!read.ok) throw new Error(JSON.stringify(read.issues));
      const arm = buildArm(read.value);
      const ours = [
        ...forwardKinematics(arm, q, new Float64Array(16)).subarray(0, 12),
        ...geometricJacobian(arm, q, undefined, new Float64Array(6 * n)),
        ...createDynamics(arm).torque(q, qd, qdd, gravity, undefined, new Float64Array(n)),
      ];
      const answer = lines[k]!.trim().split(" ").map(Number);
      // The Jacobian rate stands between the Jacobian and the torques.
      const theirs = [...answer.slice(0, 12 + 6 * n), ...answer.slice(18 + 6 * n, 18 + 7 * n)];
      const size = Math.max(1, ...theirs.map(Math.abs));
      for (const [i, value] of theirs.entries()) expect(Math.abs(ours[i]! - value) / size).toBeLessThan(TOLERANCE);
    }
  },
);
