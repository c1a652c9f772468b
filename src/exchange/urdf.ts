/**
 * Arms from URDF files (Unified Robot Description Format, an open XML format; SI units). Read: links with <inertial> and
 * <collision>, joints with <origin>, <axis> and <limit>. Fixed joints are merged into the links they join, together with
 * everything that hangs on them by fixed joints. Not read: <visual>, friction, damping, soft limits, extensions of other
 * programs. Macros (xacro) must have been expanded.
 */
import { MAX_JOINTS, MIN_JOINTS } from "../arm/build.ts";
import type { ArmDescription, InertiaDescription, JointDescription, LinkDescription } from "../cell/arm-description.ts";
import type { InputIssue } from "../cell/issue.ts";
import { combineInertias, reframeInertia, reframeShape } from "../cell/reframe.ts";
import type { PlacedShape } from "../cell/shapes.ts";
import { compose, identityPose, type Pose } from "../math/pose.ts";
import { readJoint, type UrdfJoint } from "./urdf-joints.ts";
import { readLink } from "./urdf-links.ts";
import { UrdfReader } from "./urdf-reader.ts";
import { buildTree, chooseChain, type UrdfChain, type UrdfTree } from "./urdf-tree.ts";
import { readXml, type XmlElement } from "./xml.ts";

export interface UrdfOptions {
  /** Link whose frame becomes the base frame; default the root of the tree. */
  readonly base?: string | undefined;
  /** Link whose frame becomes the flange; default the end of the only chain with the most moving joints. */
  readonly tip?: string | undefined;
}

/** A `Loaded<ArmDescription>` that also says what it left out. */
export type UrdfArm =
  | {
      readonly ok: true;
      readonly value: ArmDescription;
      /** Links that are no part of the arm: above the base, beyond the tip, or on other moving branches; in file order. */
      readonly leftOut: readonly string[];
    }
  | { readonly ok: false; readonly issues: readonly InputIssue[] };

/**
 * The arm of a URDF file: its chain of moving joints from base to tip. Speeds and torques that are not stated are Infinity,
 * as are accelerations and jerks, which the format has no place for. Mesh file names are kept as written.
 * @returns the arm, or every problem found with its place; never throws, whatever the text
 * @example readUrdf(text, "arm.urdf", { tip: "tool0" })
 */
export function readUrdf(text: string, file: string, options: UrdfOptions = {}): UrdfArm {
  const document = readXml(text, file);
  if (!document.ok) return { ok: false, issues: [document.issue] };
  const reader = new UrdfReader(text, file);
  const arm = readRobot(reader, document.root, options);
  if (arm === undefined || !reader.clean) return { ok: false, issues: reader.issues() };
  return { ok: true, ...arm };
}

function readRobot(
  reader: UrdfReader,
  robot: XmlElement,
  options: UrdfOptions,
): { value: ArmDescription; leftOut: string[] } | undefined {
  if (robot.name !== "robot")
    return reader.note(
      "not-urdf",
      robot.name,
      robot.start,
      `<${robot.name}>`,
      "<robot>",
      "Check that this is a URDF file.",
    );
  noteMacros(reader, robot);
  if (!reader.clean) return undefined;
  const name = reader.text(robot, "name", "robot");
  reader.checkChildren(robot, ["link", "joint", "material", "transmission"], "robot");
  const ofName = (wanted: string) => robot.children.filter((child) => child.name === wanted);
  const links = ofName("link").flatMap((element) => readLink(reader, element) ?? []);
  const joints = ofName("joint").flatMap((element) => readJoint(reader, element) ?? []);
  if (ofName("link").length === 0)
    return reader.note(
      "missing-element",
      "robot",
      robot.start,
      "no <link>",
      "links and joints",
      "Check that the file is complete.",
    );
  const tree = buildTree(reader, links, joints);
  if (tree === undefined || name === undefined) return undefined;
  const chain = chooseChain(reader, tree, robot.start, options);
  if (chain === undefined) return undefined;
  return checkJoints(reader, chain, robot.start) ? assemble(name, tree, chain) : undefined;
}

/** Leftovers of macro files: elements and expressions that only a macro processor understands. */
function noteMacros(reader: UrdfReader, root: XmlElement): void {
  const mend = "Expand the macros first and give the expanded file.";
  const open = [root];
  for (let element = open.pop(); element !== undefined; element = open.pop()) {
    if (element.name.startsWith("xacro:"))
      reader.note("xacro", element.name, element.start, `<${element.name}>`, "plain URDF", mend);
    for (const [name, { value, start }] of element.attributes) {
      if (value.includes("${") || value.includes("$("))
        reader.note("xacro", `${element.name}.${name}`, start, `"${value}"`, "plain values", mend);
    }
    for (const child of element.children) open.push(child);
  }
}

const isMoving = (joint: UrdfJoint) => joint.kind !== "fixed";

function checkJoints(reader: UrdfReader, { joints, base, tip }: UrdfChain, start: number): boolean {
  for (const { name, kind, mimic, start: at } of joints) {
    const path = `joint[${name}]`;
    const mend = "Choose a base and tip that leave it out, or describe the arm without it.";
    if (kind === "floating" || kind === "planar")
      reader.note(
        "unsupported-joint",
        `${path}.type`,
        at,
        `a ${kind} joint`,
        "revolute, continuous, prismatic or fixed",
        mend,
      );
    if (mimic !== undefined)
      reader.note(
        "unsupported-joint",
        `${path}.mimic`,
        mimic,
        "a joint that follows another",
        "joints that move on their own",
        mend,
      );
  }
  const moving = joints.filter(isMoving).length;
  if (moving < MIN_JOINTS || moving > MAX_JOINTS)
    reader.note(
      "joint-count",
      "robot",
      start,
      `${moving} moving joints from "${base}" to "${tip}"`,
      `${MIN_JOINTS} to ${MAX_JOINTS}`,
      "Choose another base or tip.",
    );
  return reader.clean;
}

function assemble(name: string, tree: UrdfTree, chain: UrdfChain): { value: ArmDescription; leftOut: string[] } {
  const onChain = new Map(chain.joints.map((joint) => [joint.parent, joint]));
  const used = new Set<string>();
  const joints: JointDescription[] = [];
  const links: LinkDescription[] = [];
  let inertias: InertiaDescription[] = [];
  let shapes: PlacedShape[] = [];
  let ownerFromLink = identityPose();
  let owner = chain.base;

  const closeLink = () => {
    links.push({ name: owner, shapes, ...(inertias.length > 0 && { inertia: combineInertias(inertias) }) });
    inertias = [];
    shapes = [];
  };
  /** A link of the chain and what hangs on it by fixed joints, off the chain. */
  const takeRigid = (from: string, pose: Pose) => {
    const open = [{ link: from, pose }];
    for (let at = open.pop(); at !== undefined; at = open.pop()) {
      const link = tree.links.get(at.link)!;
      used.add(link.name);
      if (link.inertia !== undefined) inertias.push(reframeInertia(link.inertia, at.pose));
      for (const shape of link.shapes) shapes.push(reframeShape(shape, at.pose));
      if (link.name === chain.tip) continue;
      for (const joint of tree.below.get(link.name) ?? []) {
        if (joint.kind === "fixed" && joint !== onChain.get(link.name))
          open.push({ link: joint.child, pose: compose(at.pose, joint.parentFromChild) });
      }
    }
  };

  takeRigid(chain.base, ownerFromLink);
  for (const joint of chain.joints) {
    const ownerFromChild = compose(ownerFromLink, joint.parentFromChild);
    if (isMoving(joint)) {
      closeLink();
      joints.push({
        name: joint.name,
        kind: joint.kind === "prismatic" ? "prismatic" : "revolute",
        parentFromJoint: ownerFromChild,
        axis: joint.axis,
        min: joint.min,
        max: joint.max,
        velocity: joint.velocity,
        acceleration: Number.POSITIVE_INFINITY,
        jerk: Number.POSITIVE_INFINITY,
        torque: joint.effort,
        motorInertia: 0,
      });
      owner = joint.child;
      ownerFromLink = identityPose();
    } else {
      ownerFromLink = ownerFromChild;
    }
    takeRigid(joint.child, ownerFromLink);
  }
  closeLink();

  const free = Number.POSITIVE_INFINITY;
  return {
    value: {
      name,
      joints,
      links,
      lastFromFlange: ownerFromLink,
      toolSpeed: free,
      toolAcceleration: free,
      toolJerk: free,
      toolTurnSpeed: free,
      toolTurnAcceleration: free,
    },
    leftOut: [...tree.links.keys()].filter((link) => !used.has(link)),
  };
}
