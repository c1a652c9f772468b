/** A cell with an arm of three slides along x, y and z, so that every distance along a motion can be told by hand. */
import { type Cell, loadCell, type PlacedShape } from "../../src/cell/index.ts";
import { identityPose } from "../../src/math/pose.ts";
import { textSource } from "./texts.ts";

export interface GantryParts {
  /** Shapes of the gripper in the flange frame, in YAML; z of the flange points up. */
  readonly gripper: string;
  /** YAML of sections, each beginning at the first column. */
  readonly sections?: string;
  /** Poses by name: joint values x, y, z in mm. */
  readonly poses: Readonly<Record<string, readonly [number, number, number]>>;
  /** Steps of `main`, in YAML, indented by four blanks. */
  readonly main: string;
  readonly motion?: string;
}

const ROWS = ["J1", "J2", "J3"].map(
  (name) =>
    `    - { name: ${name}, kind: prismatic, range: [-3, 3 m], speed: 1 m/s, acceleration: 4 m/s^2, jerk: 40 m/s^3 }`,
);

function gantryText({ gripper, sections = "", poses, main, motion = "{ line step: 2 mm }" }: GantryParts): string {
  const named = Object.entries({ home: [0, 0, 0], ...poses }).map(
    ([name, at]) => `  ${name}: { joints: [${at.map((v) => `${v} mm`).join(", ")}] }`,
  );
  return `cell: gantry
arm:
  name: gantry
  dh: standard
  joints:
${ROWS.join("\n")}
controller: { scan: 10 ms }
tool:
  grippers:
    gripper:
      tcp: { abc: [180, 0, 0 deg] }
      command: { level: grip, on: closed, off: open }
      time: 0.2 s
      shapes: ${gripper}
signals:
  grip: output
  door-open: output
  door-is-open: input
  door-is-closed: input
poses:
${named.join("\n")}
motion: ${motion}
routines:
  main:
${main}
${sections}`;
}

/** @throws when the text has an issue */
export function gantryCell(parts: GantryParts): Cell {
  const text = gantryText(parts);
  const loaded = loadCell("cell.yaml", textSource({ "cell.yaml": text }));
  if (!loaded.ok) throw new Error(`${JSON.stringify(loaded.issues[0])}\n${text}`);
  const axes = [
    [1, 0, 0],
    [0, 1, 0],
    [0, 0, 1],
  ] as const;
  const { arm } = loaded.value;
  const none: PlacedShape[] = [];
  return {
    ...loaded.value,
    arm: {
      ...arm,
      joints: arm.joints.map((joint, i) => ({ ...joint, parentFromJoint: identityPose(), axis: axes[i]! })),
      links: ["base", "J1", "J2", "J3"].map((name) => ({ name, shapes: none })),
      lastFromFlange: identityPose(),
    },
  };
}
