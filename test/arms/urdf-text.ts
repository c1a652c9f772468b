/** Writes arm descriptions as URDF text, for tests of the reader. */
import type { ArmDescription, InertiaDescription } from "../../src/cell/arm-description.ts";
import { reframeInertia } from "../../src/cell/reframe.ts";
import { abcFromPose, compose, invert, type Pose } from "../../src/math/pose.ts";
import { randomPose } from "./random.ts";

function originXml(pose: Pose): string {
  return `<origin xyz="${pose[3]} ${pose[7]} ${pose[11]}" rpy="${abcFromPose(pose).join(" ")}"/>`;
}

function inertialXml(inertia: InertiaDescription, frame: Pose): string {
  const { mass, centre, tensor } = reframeInertia(inertia, invert(frame));
  const [xx, yy, zz, xy, xz, yz] = tensor;
  const at = frame.slice();
  for (let r = 0; r < 3; r++)
    at[4 * r + 3]! += at[4 * r]! * centre[0] + at[4 * r + 1]! * centre[1] + at[4 * r + 2]! * centre[2];
  return `<inertial>${originXml(at)}<mass value="${mass}"/><inertia ixx="${xx}" ixy="${xy}" ixz="${xz}" iyy="${yy}" iyz="${yz}" izz="${zz}"/></inertial>`;
}

/**
 * The arm as URDF, its joints in random order. Every placement is broken in two by a link on a fixed joint, and part of
 * every link's mass sits on a bracket fixed to it: a reader that merges fixed joints gets the same arm back.
 */
export function urdfText(arm: ArmDescription, random: () => number): string {
  const parts: string[] = [];
  const link = (name: string, inside = "") => parts.push(`  <link name="${name}">${inside}</link>`);
  const joint = (name: string, type: string, parent: string, child: string, pose: Pose, inside = "") =>
    parts.push(
      `  <joint name="${name}" type="${type}">${originXml(pose)}<parent link="${parent}"/><child link="${child}"/>${inside}</joint>`,
    );
  const stated = (value: number, name: string) => (Number.isFinite(value) ? ` ${name}="${value}"` : "");
  let before = "base";
  link("base");
  arm.joints.forEach((j, i) => {
    const half = randomPose(random, 0.5);
    link(`mid${i}`);
    joint(`fix${i}`, "fixed", before, `mid${i}`, compose(j.parentFromJoint, invert(half)));
    const turning = j.kind === "revolute";
    const endless = turning && j.min === Number.NEGATIVE_INFINITY;
    const scale = 0.5 + random();
    const range = endless
      ? ""
      : ` lower="${Number.isFinite(j.min) ? j.min : -9}" upper="${Number.isFinite(j.max) ? j.max : 9}"`;
    joint(
      j.name,
      endless ? "continuous" : j.kind,
      `mid${i}`,
      `link${i + 1}`,
      half,
      `<axis xyz="${j.axis.map((part) => part * scale).join(" ")}"/><limit${range}${stated(j.velocity, "velocity")}${stated(j.torque, "effort")}/>`,
    );
    const inertia = arm.links[i + 1]!.inertia!;
    const share = { ...inertia, mass: inertia.mass / 2, tensor: inertia.tensor.map((v) => v / 2) as never };
    const bracket = randomPose(random, 0.5);
    link(`link${i + 1}`, inertialXml(share, randomPose(random, 0.2)));
    link(`bracket${i + 1}`, inertialXml(reframeInertia(share, invert(bracket)), randomPose(random, 0.2)));
    joint(`bolt${i + 1}`, "fixed", `link${i + 1}`, `bracket${i + 1}`, bracket);
    before = `link${i + 1}`;
  });
  link("between");
  link("flange");
  const half = randomPose(random, 0.1);
  joint("fix-flange", "fixed", before, "between", compose(arm.lastFromFlange, invert(half)));
  joint("fix-tip", "fixed", "between", "flange", half);
  const shuffled = parts.map((text) => ({ text, key: random() })).sort((a, b) => a.key - b.key);
  return `<?xml version="1.0"?>\n<robot name="${arm.name}">\n${shuffled.map(({ text }) => text).join("\n")}\n</robot>\n`;
}
