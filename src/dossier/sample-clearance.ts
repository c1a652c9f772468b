/** A made-up clearance for the tests of this floor: jaws 6 mm from a door that stands half way, and a forearm over a table. */
import type { ClearanceScene, SceneBody } from "../check/clearance/scene.ts";
import type { ClearanceReport, NearestReport } from "../check/result.ts";
import { translation } from "../math/pose.ts";
import type { PagePicture } from "./page-data.ts";

const body = (
  name: string,
  group: SceneBody["group"],
  shape: SceneBody["shape"],
  x: number,
  y: number,
  z: number,
): SceneBody => ({ name, group, shape, worldFromBody: translation(x, y, z) });

/** Jaws at x up to 50 mm, a door from x = 56 mm on. */
const SAMPLE_SCENE: ClearanceScene = {
  bodies: [
    body("table", "scene", { kind: "box", size: [1, 1, 0.7] }, 0, 0, 0.35),
    body("gripper.jaws", "tool", { kind: "box", size: [0.1, 0.1, 0.1] }, 0, 0, 1),
    body("J6.flange", "arm", { kind: "cylinder", radius: 0.04, length: 0.1 }, 0, 0, 1.1),
    body("J3.forearm", "arm", { kind: "capsule", radius: 0.05, length: 0.4 }, 0, 0, 1.38),
    body("lathe.door.panel", "device", { kind: "box", size: [0.02, 0.5, 0.6] }, 0.066, 0.1, 1.1),
    body("fence-1", "fence", { kind: "box", size: [1.2, 0.04, 2] }, 0, 0.9, 1),
  ],
  pair: [1, 4],
  witness: { a: [0.05, 0, 1], b: [0.056, 0, 1], distance: 0.006 },
};

const over: ClearanceScene = {
  ...SAMPLE_SCENE,
  pair: [1, 0],
  witness: { a: [0, 0, 0.95], b: [0, 0, 0.7], distance: 0.25 },
};

const nearest: NearestReport = {
  min_m: 0.006,
  pair: ["gripper.jaws", "lathe.door.panel"],
  step: "main[0].do[2]",
  time_s: 1.24,
  variant: "shaft",
  target: "raw-tray, place 7",
  device: { name: "lathe.door", from: "open", to: "closed", share: 0.4 },
  points: [
    [0.05, 0, 1],
    [0.056, 0, 1],
  ],
  q: [0, 0, 0, 0, 0, 0],
};

export const SAMPLE_CLEARANCE: ClearanceReport = {
  ...nearest,
  certified_m: 0.00595,
  required_m: 0.01,
  steps: [
    { step: "main[0].do[2]", required_m: 0.01, certified_m: 0.00595, nearest, beyond_m: 0.1 },
    {
      step: "main[0].do[4]",
      required_m: 0.3,
      certified_m: 0.2499,
      nearest: {
        ...nearest,
        min_m: 0.25,
        pair: ["gripper.jaws", "table"],
        step: "main[0].do[4]",
        time_s: null,
        device: null,
      },
      beyond_m: 0.3,
    },
    { step: "main[0].do[6]", required_m: 0.01, certified_m: 0.1, nearest: null, beyond_m: 0.1 },
  ],
  notConsidered: ["coolant-hose: its mesh file is not read"],
};

export const SAMPLE_PICTURES: readonly PagePicture[] = [
  { step: "main[0].do[2]", scene: SAMPLE_SCENE },
  { step: "main[0].do[4]", scene: over },
];
