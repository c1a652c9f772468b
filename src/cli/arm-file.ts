/** The arm that a command is given: from a URDF file, a whole cell, or a file with only an arm. */
import { type Arm, buildArm, type Payload } from "../arm/index.ts";
import { type ArmDescription, type Cell, type Gripper, loadArm, loadCell } from "../cell/index.ts";
import { carriedLoad } from "../check/load.ts";
import { gravityInBase } from "../check/mover.ts";
import { readUrdf } from "../exchange/index.ts";
import type { Pose } from "../math/pose.ts";
import type { ToolLimits } from "../motion/index.ts";
import { UnusableInput } from "./exit-status.ts";
import { fileSource } from "./file-source.ts";
import { issuesText } from "./issues-text.ts";

export interface ArmFile {
  readonly path: string;
  readonly arm: Arm;
  readonly jointNames: readonly string[];
  readonly toolLimits: ToolLimits;
  /** The empty tool; undefined where its mass is not stated. */
  readonly payload: Payload | undefined;
  /** Joint values of the pose "home"; the middle of each joint's range where there is none. */
  readonly home: readonly number[];
  /** Sampling distance of checks along lines, m. */
  readonly lineStep: number;
  /** What the user should know about how the file was read. */
  readonly note: string | undefined;
  /** By name, in the order of the file; none in a URDF file. */
  readonly grippers: ReadonlyMap<string, Gripper>;
  /** Of the first gripper; undefined where the file has none. */
  readonly firstTcp: Pose | undefined;
  /** In base axes, m/s². */
  readonly gravity: readonly [number, number, number];
}

/** Standard acceleration of free fall (3rd CGPM, 1901), m/s². */
const STANDARD_GRAVITY = 9.80665;
/** Where no cell states one, m. */
const LINE_STEP = 0.002;

/** Reads a file by what it is: XML is taken for URDF. @throws UnusableInput with every issue */
export function loadArmFile(path: string): ArmFile {
  const source = fileSource(path);
  const got = source.read(path);
  if ("text" in got && looksLikeXml(path, got.text)) {
    const read = readUrdf(got.text, path);
    if (!read.ok) throw new UnusableInput(issuesText(read.issues));
    return { ...armAlone(path, read.value), ...onItsOwn };
  }
  const options = { readArm: readUrdf };
  const cell = loadCell(path, source, options);
  if (cell.ok) return armOfCell(path, cell.value);
  const alone = loadArm(path, source, options);
  if (!alone.ok) throw new UnusableInput(issuesText(alone.issues));
  const { arm, flangeFromTcp } = alone.value;
  // A file with only an arm lacks several of the sections that a cell must have; a cell with mistakes in it does not.
  const missing = cell.issues.filter((issue) => issue.code === "missing-key" && issue.path === "").length;
  const note =
    missing > 1
      ? undefined
      : `${path}: only arm and tool are used, because the rest of the cell has issues (millhand check lists them)`;
  return { ...armAlone(path, arm), ...onItsOwn, firstTcp: flangeFromTcp, note };
}

/** What holds for an arm without a cell. */
const onItsOwn = {
  grippers: new Map<string, Gripper>(),
  firstTcp: undefined,
  payload: undefined,
  gravity: [0, 0, -STANDARD_GRAVITY],
  lineStep: LINE_STEP,
  note: undefined,
} as const;

function armOfCell(path: string, cell: Cell): ArmFile {
  const { grippers } = cell.tool;
  return {
    ...armAlone(path, cell.arm),
    grippers,
    firstTcp: [...grippers.values()][0]?.flangeFromTcp,
    payload: carriedLoad(cell, new Map()),
    gravity: gravityInBase(cell),
    home: cell.home,
    lineStep: cell.motion.lineStep,
    note: undefined,
  };
}

/** What follows from the arm's description alone. */
function armAlone(
  path: string,
  description: ArmDescription,
): Pick<ArmFile, "path" | "arm" | "jointNames" | "toolLimits" | "home"> {
  const arm = buildArm(description);
  return {
    path,
    arm,
    jointNames: description.joints.map((joint, i) => joint.name || `J${i + 1}`),
    toolLimits: {
      speed: description.toolSpeed,
      acceleration: description.toolAcceleration,
      jerk: description.toolJerk,
      turnSpeed: description.toolTurnSpeed,
      turnAcceleration: description.toolTurnAcceleration,
    },
    home: middleOfRanges(arm),
  };
}

/** Middle of each joint's range; 0 for a joint without stops. */
export function middleOfRanges(arm: Arm): number[] {
  return Array.from(arm.min, (min, i) =>
    Number.isFinite(min) && Number.isFinite(arm.max[i]!) ? (min + arm.max[i]!) / 2 : 0,
  );
}

const looksLikeXml = (path: string, text: string): boolean => /\.(urdf|xml)$/i.test(path) || /^\ufeff?\s*</.test(text);

/** flangeFromTcp of a gripper; true means the first. @throws UnusableInput when there is none of that name */
export function toolFrame(file: ArmFile, gripper: string | true): Pose {
  if (file.firstTcp === undefined) throw new UnusableInput(`${file.path}: --tool: the file has no gripper`);
  if (gripper === true) return file.firstTcp;
  const found = file.grippers.get(gripper);
  if (found !== undefined) return found.flangeFromTcp;
  const known = [...file.grippers.keys()];
  const expected =
    known.length === 0 ? "--tool without a name, as this is no whole cell" : `one of ${known.join(", ")}`;
  throw new UnusableInput(`${file.path}: --tool: found ${gripper}; expected ${expected}`);
}
