/**
 * Pairs of bodies of the arm with two joints between them, whose answer may be settled by the arm's build: shoulder and upper
 * arm that always overlap, wrist bodies that never meet. Settled means proved over the whole range of both joints.
 *
 * Method: branch and bound. No point of a body moves faster than its distance from a joint's axis, so the signed distance in
 * the middle of a cell of joint values bounds it over the cell: |d(q) - d(middle)| ≤ Σ reach · half width. Cells that
 * leave the sign open are halved.
 */
import { type Arm, forwardKinematics, linkFrames } from "../../arm/index.ts";
import type { ArmDescription } from "../../cell/index.ts";
import { createBodySet, newDistance } from "../../clearance/index.ts";
import { identityPose } from "../../math/pose.ts";
import { type CellBody, flangeFrame } from "./cell-bodies.ts";

type ArmBody = Pick<CellBody, "body" | "link" | "frame" | "frameFromBody">;

/** Measured states per pair; then the pair counts as not settled. */
const BUDGET = 10_000;

/** How far link frames and flange lie, for `BodySet.place`: links 1 to n, then the flange, in base axes. */
export function armFrames(arm: Arm): (q: ArrayLike<number>) => Float64Array {
  const { n } = arm;
  const all = new Float64Array(12 * (n + 1));
  const moving = new Float64Array(12 * (n + 1));
  const flange = identityPose();
  return (q) => {
    linkFrames(arm, q, all);
    for (let k = 0; k < 12 * n; k++) moving[k] = all[12 + k]!;
    forwardKinematics(arm, q, flange);
    for (let k = 0; k < 12; k++) moving[12 * n + k] = flange[k]!;
    return moving;
  };
}

/** Whether two bodies of the arm, two joints apart, never meet or always overlap; undefined when neither is proved. */
export function settledPair(
  arm: Arm,
  description: ArmDescription,
  a: ArmBody,
  b: ArmBody,
): "never meet" | "always overlap" | undefined {
  const [near, far] = a.link! < b.link! ? [a, b] : [b, a];
  const second = far.link! - 1,
    first = second - 1;
  if (first !== near.link) return undefined;
  const ranges = [first, second].map((joint) => rangeOf(description, joint));
  if (ranges.some(({ half }) => !(half < Number.POSITIVE_INFINITY))) return undefined;
  const reaches = reachesOf(description, far, first, second);
  const set = createBodySet([near, far], arm.n + 1, [[0, 1]]);
  const frames = armFrames(arm);
  const q = new Float64Array(arm.n);
  const out = newDistance();
  const open = [ranges.map(({ middle }) => middle).concat(ranges.map(({ half }) => half))];
  let meets = false,
    parts = false;
  for (let states = 0; open.length > 0; states++) {
    if (states === BUDGET || (meets && parts)) return undefined;
    const [m1, m2, h1, h2] = open.pop() as [number, number, number, number];
    q[first] = m1;
    q[second] = m2;
    set.place(frames(q));
    const d = set.pairDistance(0, out);
    if (d > 0) parts = true;
    else meets = true;
    const way1 = reaches[0]! * h1,
      way2 = reaches[1]! * h2;
    if (Math.abs(d) > way1 + way2) continue;
    if (way1 >= way2) open.push([m1 - h1 / 2, m2, h1 / 2, h2], [m1 + h1 / 2, m2, h1 / 2, h2]);
    else open.push([m1, m2 - h2 / 2, h1, h2 / 2], [m1, m2 + h2 / 2, h1, h2 / 2]);
  }
  return meets && parts ? undefined : meets ? "always overlap" : "never meet";
}

/** Middle and half width of a joint's values; one turn where it turns without stops or farther than that. */
function rangeOf({ joints }: ArmDescription, joint: number): { readonly middle: number; readonly half: number } {
  const { kind, min, max } = joints[joint]!;
  if (kind === "revolute" && !(max - min < 2 * Math.PI)) return { middle: 0, half: Math.PI };
  return { middle: (min + max) / 2, half: (max - min) / 2 };
}

/** How far a point of the body moves at most per unit of each of the two joints, m/rad (1 for a slide). */
function reachesOf(description: ArmDescription, body: ArmBody, first: number, second: number): [number, number] {
  const { joints, lastFromFlange } = description;
  const onFlange = body.frame === flangeFrame(joints.length);
  const { cx, cy, cz, bound } = body.body;
  const inFrame = apply(body.frameFromBody, cx, cy, cz);
  const middle = onFlange ? apply(lastFromFlange, ...inFrame) : inFrame;
  const slide = (joint: number) => {
    const { kind, min, max } = joints[joint]!;
    return kind === "prismatic" ? Math.max(Math.abs(min), Math.abs(max)) : 0;
  };
  const aroundSecond = Math.hypot(...middle) + bound;
  const { parentFromJoint } = joints[second]!;
  const aroundFirst =
    Math.hypot(parentFromJoint[3]!, parentFromJoint[7]!, parentFromJoint[11]!) + slide(second) + aroundSecond;
  const isSlide = (joint: number) => joints[joint]!.kind === "prismatic";
  return [isSlide(first) ? 1 : aroundFirst, isSlide(second) ? 1 : aroundSecond];
}

function apply(pose: Float64Array, x: number, y: number, z: number): [number, number, number] {
  return [0, 4, 8].map((r) => pose[r]! * x + pose[r + 1]! * y + pose[r + 2]! * z + pose[r + 3]!) as [
    number,
    number,
    number,
  ];
}
