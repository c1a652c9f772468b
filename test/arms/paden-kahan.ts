/**
 * Inverse kinematics of two families by the subproblems of Paden and Kahan, written from the textbook decomposition (Murray,
 * Li & Sastry 1994, ch. 3; Elias & Wen 2022; both recalled), for comparison with the product's own solvers. It shares nothing
 * with them but the arm's forward kinematics, from which it takes the axes.
 *
 * With all joints at 0, axis i has direction h[i] and passes through p[i]; E_i is the turn about it, and the product
 * E_1 E_2 … E_6 = G = baseFromFlange · (baseFromFlange at 0)⁻¹.
 */
import { type Arm, forwardKinematics, jointFrames } from "../../src/arm/index.ts";
import { compose, invert, type Pose, rotationAbout } from "../../src/math/pose.ts";
import { turnOnto, turnsOnto, turnToDistance, turnToPlane } from "./subproblems.ts";

type Vector = readonly [number, number, number];

interface Home {
  readonly h: readonly Vector[];
  readonly p: readonly Vector[];
  readonly flangeFromHome: Pose;
}

const minus = (a: Vector, b: Vector): Vector => [a[0] - b[0], a[1] - b[1], a[2] - b[2]];
const plus = (a: Vector, b: Vector): Vector => [a[0] + b[0], a[1] + b[1], a[2] + b[2]];
const dot = (a: Vector, b: Vector) => a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
const cross = (a: Vector, b: Vector): Vector => [
  a[1] * b[2] - a[2] * b[1],
  a[2] * b[0] - a[0] * b[2],
  a[0] * b[1] - a[1] * b[0],
];
const length = (a: Vector) => Math.sqrt(dot(a, a));
const moved = (t: Pose, x: Vector): Vector => plus(turned(t, x), [t[3]!, t[7]!, t[11]!]);
const turned = (t: Pose, x: Vector): Vector =>
  [0, 4, 8].map((r) => t[r]! * x[0] + t[r + 1]! * x[1] + t[r + 2]! * x[2]) as unknown as Vector;

/** Some vector square to h. */
function acrossOf(h: Vector): Vector {
  const c = cross(h, Math.abs(h[0]) < 0.7 ? [1, 0, 0] : [0, 1, 0]);
  return c.map((x) => x / length(c)) as unknown as Vector;
}

function homeOf(arm: Arm): Home {
  const zero = new Float64Array(arm.n);
  const frames = jointFrames(arm, zero, new Float64Array(12 * (arm.n + 1)));
  const column = (i: number, c: number): Vector => [
    frames[12 * i + c]!,
    frames[12 * i + 4 + c]!,
    frames[12 * i + 8 + c]!,
  ];
  return {
    h: Array.from({ length: arm.n }, (_, i) => column(i, 2)),
    p: Array.from({ length: arm.n }, (_, i) => column(i, 3)),
    flangeFromHome: invert(forwardKinematics(arm, zero, new Float64Array(16))),
  };
}

/** Turn by q about axis i. */
function turnAbout({ h, p }: Home, i: number, q: number): Pose {
  const turn = rotationAbout(h[i]!, q);
  const rest = minus(p[i]!, turned(turn, p[i]!));
  for (let k = 0; k < 3; k++) turn[4 * k + 3] = rest[k]!;
  return turn;
}

/** Where two axes meet: the middle of their common perpendicular. */
function meetingOf({ h, p }: Home, i: number, j: number): Vector {
  const n = cross(h[i]!, h[j]!);
  const d = minus(p[j]!, p[i]!);
  const along = dot(cross(d, h[j]!), n) / dot(n, n);
  const back = dot(cross(d, h[i]!), n) / dot(n, n);
  const a = plus(p[i]!, h[i]!.map((x) => along * x) as unknown as Vector);
  const b = plus(p[j]!, h[j]!.map((x) => back * x) as unknown as Vector);
  return plus(a, b).map((x) => x / 2) as unknown as Vector;
}

const angles = (count: number, out: Float64Array): number[] => Array.from(out.subarray(0, count));

/** Angles q_i, q_j with E_i E_j from = to, for axes that meet at the point given. */
function pairOnto({ h }: Home, i: number, j: number, meeting: Vector, from: Vector, to: Vector): [number, number][] {
  const out = new Float64Array(4);
  const count = turnsOnto(h[i]!, h[j]!, minus(from, meeting), minus(to, meeting), out);
  return Array.from({ length: count }, (_, k) => [out[2 * k]!, out[2 * k + 1]!]);
}

/** Angle q_i with E_i from = to. */
function onto({ h, p }: Home, i: number, from: Vector, to: Vector): number {
  const out = new Float64Array(1);
  turnOnto(h[i]!, minus(from, p[i]!), minus(to, p[i]!), out);
  return out[0]!;
}

/** All solutions of an arm whose axes 4, 5 and 6 meet in a point and whose axes 1 and 2 meet in another. */
export function sphericalWristSolutions(arm: Arm, baseFromFlange: Pose): number[][] {
  const home = homeOf(arm);
  const { h, p } = home;
  const goal = compose(baseFromFlange, home.flangeFromHome);
  const wrist = meetingOf(home, 3, 4);
  const shoulder = meetingOf(home, 0, 1);
  const wristNow = moved(goal, wrist);
  const out = new Float64Array(2);
  const found: number[][] = [];
  // E1 E2 leave the shoulder where it is, so the wrist's distance from it is a matter of E3 alone.
  const reach = length(minus(wristNow, shoulder));
  for (const q3 of angles(turnToDistance(h[2]!, minus(wrist, p[2]!), minus(shoulder, p[2]!), reach, out), out)) {
    const e3 = turnAbout(home, 2, q3);
    for (const [q1, q2] of pairOnto(home, 0, 1, shoulder, moved(e3, wrist), wristNow)) {
      const arm3 = compose(compose(turnAbout(home, 0, q1), turnAbout(home, 1, q2)), e3);
      const rest = compose(invert(arm3), goal);
      const onSixth = plus(wrist, h[5]!);
      for (const [q4, q5] of pairOnto(home, 3, 4, wrist, onSixth, moved(rest, onSixth))) {
        const last = compose(invert(compose(turnAbout(home, 3, q4), turnAbout(home, 4, q5))), rest);
        const beside = plus(wrist, acrossOf(h[5]!));
        found.push([q1, q2, q3, q4, q5, onto(home, 5, beside, moved(last, beside))]);
      }
    }
  }
  return found;
}

/** All solutions of an arm whose axes 2, 3 and 4 are parallel (same sense or opposite) and whose axes 5 and 6 meet. */
export function threeParallelSolutions(arm: Arm, baseFromFlange: Pose): number[][] {
  const home = homeOf(arm);
  const { h, p } = home;
  const goal = compose(baseFromFlange, home.flangeFromHome);
  const wrist = meetingOf(home, 4, 5);
  const wristNow = moved(goal, wrist);
  const out = new Float64Array(2);
  const found: number[][] = [];
  // Turning axis 1 back brings the wrist to the height along the parallel axes that E2 E3 E4 cannot change.
  const back = h[0]!.map((x) => -x) as unknown as Vector;
  const height = dot(h[1]!, minus(wrist, p[0]!));
  for (const q1 of angles(turnToPlane(back, minus(wristNow, p[0]!), h[1]!, height, out), out)) {
    const rest = compose(invert(turnAbout(home, 0, q1)), goal);
    // The angle between the parallel axes and axis 6 is a matter of E5 alone.
    const along = dot(h[1]!, turned(rest, h[5]!));
    for (const q5 of angles(turnToPlane(h[4]!, h[5]!, h[1]!, along, out), out)) {
      const e5 = turnAbout(home, 4, q5);
      // R6 (R_restᵀ h) = R5ᵀ h for the direction h of the parallel axes, which R2 R3 R4 leave.
      const q6 = directionOnto(h[5]!, turned(invert(rest), h[1]!), turned(invert(e5), h[1]!));
      const planar = compose(rest, invert(compose(e5, turnAbout(home, 5, q6))));
      const fourth = p[3]!;
      const fourthNow = moved(planar, fourth);
      const reach = length(minus(fourthNow, p[1]!));
      for (const q3 of angles(turnToDistance(h[2]!, minus(fourth, p[2]!), minus(p[1]!, p[2]!), reach, out), out)) {
        const e3 = turnAbout(home, 2, q3);
        const q2 = onto(home, 1, moved(e3, fourth), fourthNow);
        const last = compose(invert(compose(turnAbout(home, 1, q2), e3)), planar);
        const beside = plus(fourth, acrossOf(h[3]!));
        found.push([q1, q2, q3, onto(home, 3, beside, moved(last, beside)), q5, q6]);
      }
    }
  }
  return found;
}

function directionOnto(h: Vector, from: Vector, to: Vector): number {
  const out = new Float64Array(1);
  turnOnto(h, from, to, out);
  return out[0]!;
}
