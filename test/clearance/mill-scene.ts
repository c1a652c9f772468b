/**
 * An arm with a spherical wrist reaches through the side opening of a vertical mill to a vise under the spindle. Invented.
 * Metres, radians; base frame of the arm, z up, x into the machine.
 *
 * Machine, outside: x 0.80 to 2.00, y -0.70 to 0.80, z -0.35 to 1.65, sheets 20 mm thick. The side wall (x 0.80 to 0.82) has an
 * opening y -0.28 to 0.22, z 0.28 to 0.78. Table top at z 0.25. The vise stands on it, its jaws open towards ±x and 70 mm apart.
 * Above it is the spindle nose, 0.27 m over the jaws, with a coolant pipe beside it; behind it a curved splash sheet.
 *
 * Arm: standard DH below, two parallel axes and three that meet, with joint limits. TCP: flange moved by 0.17 m along z, the
 * middle of the held part. Checked are 9 bodies of the arm with 20 of the cell, less the fixed base with the plinth (179 pairs), and
 * links of the arm with each other and with the tool where they can meet (22).
 */
import { boxBody, capsuleBody, cylinderBody, hullBody, meshBody } from "../../src/clearance/index.ts";
import { identityPose, translation } from "../../src/math/pose.ts";
import type { TableRow } from "../arms/describe.ts";
import { poseAlong, type SceneBody } from "./bench-scene.ts";
import { limitedArm, type RouteProblem, sweptBodies } from "./route-problem.ts";

const right = Math.PI / 2;

/** Rz(q + theta) Tz(d) Tx(a) Rx(alpha). */
const millArm: readonly TableRow[] = [
  { a: 0.12, alpha: -right, d: 0.4 },
  { a: 0.56, alpha: 0, d: 0, theta: -right },
  { a: 0.09, alpha: -right, d: 0 },
  { a: 0, alpha: right, d: 0.58 },
  { a: 0, alpha: -right, d: 0 },
  { a: 0, alpha: 0, d: 0.09 },
];

/** Least and greatest joint values, rad: ±170°, -95° to 130°, -150° to 80°, ±185°, ±120°, ±175°. */
const degrees = Math.PI / 180;
const limits = (
  [
    [-170, 170],
    [-95, 130],
    [-150, 80],
    [-185, 185],
    [-120, 120],
    [-175, 175],
  ] as const
).map(([least, greatest]) => [least * degrees, greatest * degrees] as const);

/** Segment p-q and radius, in DH frame `frame` (0: base). */
const capsules = [
  { name: "L0", frame: 0, p: [0, 0, 0.08], q: [0, 0, 0.2], radius: 0.12 },
  { name: "L1", frame: 1, p: [-0.1, 0.02, 0], q: [0, 0, 0], radius: 0.1 },
  { name: "L2", frame: 2, p: [-0.56, 0, -0.13], q: [0, 0, -0.13], radius: 0.07 },
  { name: "L3", frame: 3, p: [-0.06, 0, 0], q: [0, 0, 0.06], radius: 0.08 },
  { name: "L4", frame: 4, p: [0, -0.46, 0], q: [0, -0.1, 0], radius: 0.055 },
  { name: "L5", frame: 5, p: [0, 0, -0.03], q: [0, 0, 0.03], radius: 0.05 },
] as const;

const boxes = [
  ["wall, far side", [0.02, 1.5, 2], [1.99, 0.05, 0.65]],
  ["wall, front", [1.2, 0.02, 2], [1.4, -0.69, 0.65]],
  ["wall, back", [1.2, 0.02, 2], [1.4, 0.79, 0.65]],
  ["roof", [1.2, 1.5, 0.02], [1.4, 0.05, 1.64]],
  ["sill", [0.02, 1.5, 0.63], [0.81, 0.05, -0.035]],
  ["lintel", [0.02, 1.5, 0.87], [0.81, 0.05, 1.215]],
  ["door post, front", [0.02, 0.42, 0.5], [0.81, -0.49, 0.53]],
  ["door post, back", [0.02, 0.58, 0.5], [0.81, 0.51, 0.53]],
  ["table", [0.9, 0.45, 0.5], [1.4, 0, 0]],
  ["column", [0.4, 0.25, 1.6], [1.4, 0.6, 0.65]],
  ["head", [0.32, 0.6, 0.55], [1.4, 0.18, 1.2]],
  ["plinth", [0.36, 0.36, 0.4], [0, 0, -0.22]],
  ["part table", [0.5, 0.4, 0.5], [-0.1, -0.8, -0.15]],
] as const;

/** Half of an upright elliptic tube about the vise, open towards the arm: 40 x 12 quads of two triangles, surface only. */
function splashSheet(): SceneBody {
  const across = 40,
    up = 12,
    deep = 0.36,
    wide = 0.216;
  const vertices: number[] = [],
    indices: number[] = [];
  for (let i = 0; i <= across; i++)
    for (let j = 0; j <= up; j++) {
      const angle = -right + (Math.PI * i) / across;
      vertices.push(1.4 + deep * Math.cos(angle), wide * Math.sin(angle), 0.25 + (0.24 * j) / up);
      if (i === across || j === up) continue;
      const at = i * (up + 1) + j,
        next = at + up + 1;
      indices.push(at, next, next + 1, at, next + 1, at + 1);
    }
  const body = meshBody(Float64Array.from(vertices), Uint32Array.from(indices), false);
  return { name: "splash sheet", frame: undefined, frameFromBody: identityPose(), body };
}

/** Twelve-sided, 160 mm across at the head, 90 mm below. */
function spindleNose(): SceneBody {
  const rim = (z: number, radius: number) =>
    Array.from({ length: 12 }, (_, i): [number, number, number] => [
      radius * Math.cos((Math.PI * i) / 6),
      radius * Math.sin((Math.PI * i) / 6),
      z,
    ]);
  const body = hullBody([...rim(0.3, 0.08), ...rim(0.1, 0.08), ...rim(0, 0.045)]);
  return { name: "spindle nose", frame: undefined, frameFromBody: translation(1.4, 0, 0.64), body };
}

function millBodies(): SceneBody[] {
  const fixed = { frame: undefined };
  const size = (p: readonly number[], q: readonly number[]) => Math.hypot(...p.map((v, k) => q[k]! - v));
  const pipe = { p: [1.24, 0.14, 0.9], q: [1.3, 0.07, 0.6] };
  return [
    ...capsules.map(({ name, frame, p, q, radius }) => ({
      name,
      frame,
      frameFromBody: poseAlong(p, q),
      body: capsuleBody(radius, size(p, q)),
    })),
    { name: "gripper", frame: 6, frameFromBody: translation(0, 0, 0.05), body: boxBody([0.1, 0.07, 0.09]) },
    { name: "jaws", frame: 6, frameFromBody: translation(0, 0, 0.125), body: boxBody([0.09, 0.025, 0.06]) },
    { name: "part", frame: 6, frameFromBody: translation(0, 0, 0.17), body: boxBody([0.05, 0.06, 0.08]) },
    ...boxes.map(([name, edges, centre]) => ({
      ...fixed,
      name,
      frameFromBody: translation(centre[0], centre[1], centre[2]),
      body: boxBody(edges),
    })),
    { ...fixed, name: "vise bed", frameFromBody: translation(1.4, 0, 0.28), body: boxBody([0.3, 0.15, 0.06]) },
    { ...fixed, name: "vise jaw, near", frameFromBody: translation(1.34, 0, 0.34), body: boxBody([0.05, 0.15, 0.06]) },
    { ...fixed, name: "vise jaw, far", frameFromBody: translation(1.46, 0, 0.34), body: boxBody([0.05, 0.15, 0.06]) },
    {
      ...fixed,
      name: "vise screw",
      frameFromBody: poseAlong([1.22, 0, 0.29], [1.14, 0, 0.29]),
      body: cylinderBody(0.02, 0.12),
    },
    {
      ...fixed,
      name: "coolant pipe",
      frameFromBody: poseAlong(pipe.p, pipe.q),
      body: capsuleBody(0.012, size(pipe.p, pipe.q)),
    },
    spindleNose(),
    splashSheet(),
  ];
}

const linkPairs = ["L0-L3", "L0-L4", "L0-L5", "L1-L3", "L1-L4", "L1-L5", "L2-L5"].map(
  (text) => text.split("-") as [string, string],
);

function millPairs(bodies: readonly SceneBody[]): [number, number][] {
  const index = (name: string) => bodies.findIndex((body) => body.name === name);
  const all = bodies.map((_, i) => i);
  const moving = all.filter((i) => bodies[i]!.frame !== undefined),
    standing = all.filter((i) => bodies[i]!.frame === undefined);
  const links = ["L0", "L1", "L2", "L3", "L4"];
  const toTool = links.flatMap((link) => ["gripper", "jaws", "part"].map((tool) => [link, tool] as const));
  return [
    ...moving.flatMap((i) => standing.map((j): [number, number] => [i, j])),
    ...[...linkPairs, ...toTool].map(([a, b]): [number, number] => [index(a), index(b)]),
  ].filter(([i, j]) => !(i === index("L0") && j === index("plinth")));
}

/**
 * From over the part table (TCP (-0.10, -0.80, 0.18), tool axis -z) to 20 mm over the vise's jaws (TCP (1.40, 0, 0.42), tool
 * axis +x), 0.60 m inside the opening. The straight joint-space edge collides. No margin: bodies must not overlap.
 */
export function millProblem(): RouteProblem {
  const bodies = millBodies();
  return {
    name: "mill",
    scene: {
      arm: limitedArm("spherical wrist", millArm, limits),
      bodies: sweptBodies(millArm, bodies),
      slides: [],
      pairs: millPairs(bodies),
      margin: 0,
    },
    start: Float64Array.of(-1.6952, 0.5527, 0.4402, 0, 0.578, -0.1244),
    goal: Float64Array.of(0, 1.0644, -0.4674, 0, -0.597, 1.5708),
  };
}
