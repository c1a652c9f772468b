/** An arm whose first joint slides: its distances are lengths, and joints go by their own names. */
import { expect, it } from "vitest";
import { buildArm, forwardKinematics } from "../arm/index.ts";
import { loadCell } from "../cell/index.ts";
import { identityPose } from "../math/pose.ts";
import { checkCell } from "./check-cell.ts";

const gantry = (target: string) => `
cell: Gantry
arm:
  name: Rail and three
  dh: standard
  joints:
    - { name: rail, kind: prismatic, alpha: 90 deg, theta: 90 deg, range: [-400, 400 mm], speed: 1 m/s, acceleration: 3 m/s^2, jerk: 30 m/s^3 }
    - { name: lift, kind: prismatic, alpha: 90 deg, theta: 90 deg, range: [0, 600 mm], speed: 1 m/s, acceleration: 3 m/s^2, jerk: 30 m/s^3 }
    - { name: reach, kind: prismatic, range: [100, 800 mm], speed: 1 m/s, acceleration: 3 m/s^2, jerk: 30 m/s^3 }
parts: { pin: { stages: { raw: { mass: 1 kg, centre: [0, 0, 0 mm] } }, grips: { end: { width: 10 mm } } } }
poses:
  home: { joints: [0, 300, 400 mm] }
  there: ${target}
routines: { main: [{ go: there }, { go: home }] }
`;

function check(target: string) {
  const loaded = loadCell("cell.yaml", { read: () => ({ text: gantry(target) }) });
  if (!loaded.ok) throw new Error(JSON.stringify(loaded.issues));
  const outcome = checkCell(loaded.value);
  if (!outcome.ok) throw new Error(outcome.reason);
  return outcome.report;
}

it("gives the room of a slide as a length, and no caution at 30 mm", () => {
  const report = check("{ joints: [370, 300, 400 mm] }");
  expect(report.joints.map((j) => j.name)).toEqual(["rail", "lift", "reach"]);
  expect(report.joints[0]!.kind).toBe("prismatic");
  const there = report.reach.find((r) => r.target === "there")!;
  expect(there.nearestJoint).toBe("rail");
  expect(there.jointMargin_rad).toBeCloseTo(0.03, 12);
  expect(report.findings.map((f) => f.code)).not.toContain("little-joint-room");
});

it("cautions at 8 mm from the end of a slide, in mm", () => {
  const finding = check("{ joints: [392, 300, 400 mm] }").findings.find((f) => f.code === "little-joint-room")!;
  expect(finding.message).toContain("8.0 mm from a joint limit");
});

it("names a slide that is asked past its end, with lengths", () => {
  const finding = check("{ joints: [450, 300, 400 mm] }").findings.find((f) => f.code === "joint-limit")!;
  expect(finding.message).toContain("joint rail");
  expect(finding.message).toContain("50.0 mm beyond its limit of 400.0 mm");
});

it("takes the tool centre point of a tool without grippers, and the flange where there is no tool", () => {
  const loadedAt = (text: string) => {
    const loaded = loadCell("cell.yaml", { read: () => ({ text }) });
    if (!loaded.ok) throw new Error(JSON.stringify(loaded.issues));
    return loaded.value;
  };
  const room = (text: string): number => {
    const outcome = checkCell(loadedAt(text));
    if (!outcome.ok) throw new Error(outcome.reason);
    return outcome.report.reach.find((r) => r.target === "there")!.jointMargin_rad;
  };
  // The flange's pose at slides of 0, 300 and 400 mm, the last of which runs along the tool.
  const home = loadedAt(gantry("{ joints: [0, 300, 400 mm] }"));
  const p = forwardKinematics(buildArm(home.arm), home.home, identityPose());
  const column = (k: number) => `[${p[k]}, ${p[4 + k]}, ${p[8 + k]}]`;
  const bare = gantry(`{ at: [${p[3]} m, ${p[7]} m, ${p[11]} m], axes: { z: ${column(2)}, x: ${column(0)} } }`);
  expect(room(bare)).toBeCloseTo(0.3, 9);
  // With 150 mm of tool the last slide stands at 250 mm, 150 mm from its lower end.
  expect(room(bare.replace("parts:", "tool: { tcp: { at: [0, 0, 150 mm] } }\nparts:"))).toBeCloseTo(0.15, 9);
});
