/** Found routes in cells whose arm moves along x, y and z, so that every way can be told by hand. */
import { describe, expect, it } from "vitest";
import { type GantryParts, gantryCell } from "../../../test/cells/gantry.ts";
import { buildArm } from "../../arm/index.ts";
import type { Cell } from "../../cell/index.ts";
import { createSweptScene } from "../../clearance/index.ts";
import type { Motion } from "../../motion/index.ts";
import { MotionMemory } from "../../motion/index.ts";
import { checkCell } from "../check-cell.ts";
import { ClearanceMemory } from "../clearance/memory.ts";
import { createSceneBuilder } from "../clearance/moving-scene.ts";
import { isPlanned } from "../mover.ts";

const BALL = "{ ball: { sphere: { radius: 20 mm } } }";
const PART = `parts:
  block:
    shape: { box: [40, 40, 60 mm], at: [0, 0, 30 mm] }
    stages: { raw: 0.5 kg }
    grips: { top: { at: [0, 0, 50 mm], abc: [180, 0, 0 deg] } }
`;

/** A wall at y 0, as wide as the slides go, from far below up to z 200 mm. */
const WALL = "scene: { shapes: { wall: { box: [7000, 40, 4200 mm], at: [0, 0, -1900 mm] } } }";
const across = (go: string, more: Partial<GantryParts> = {}): GantryParts => ({
  gripper: BALL,
  poses: { home: [0, -400, 0], behind: [0, 400, 0] },
  main: `    - go: ${go}`,
  sections: `${PART}${WALL}`,
  ...more,
});

function check(cell: Cell, memory?: { readonly motions: MotionMemory; readonly clearance: ClearanceMemory }) {
  const outcome = checkCell(cell, memory && { memory: memory.motions, clearanceMemory: memory.clearance });
  if (!outcome.ok) throw new Error("cancelled");
  return outcome;
}

const findingsOf = ({ report }: ReturnType<typeof check>) =>
  report.findings
    .filter(({ code }) => /route|clearance|collision|blend/.test(code))
    .map(({ code, severity, message, mend }) => ({ code, severity, message, mend }));

function motionOf(result: ReturnType<typeof check>, move = 0): Motion {
  const { outcome } = result.runs.get("block")!.nominal.moves[move]!;
  if (!outcome.ok || !isPlanned(outcome.motion)) throw new Error("the motion was not planned");
  return outcome.motion.motion;
}

/** Way of the tool, m, and its least distance to the wall's edges, m, looked at every millisecond. */
function looked(motion: Motion, distance: (q: Float64Array) => number) {
  const state = { q: new Float64Array(3), qd: new Float64Array(3), qdd: new Float64Array(3) };
  let way = 0,
    least = Number.POSITIVE_INFINITY;
  let last: Float64Array | undefined;
  for (let time = 0; time <= motion.duration; time += 0.001) {
    motion.sample(time, state);
    const q = state.q.slice();
    if (last !== undefined) way += Math.hypot(...q.map((v, i) => v - last![i]!));
    least = Math.min(least, distance(q));
    last = q;
  }
  return { way, least };
}
const toWall = ([, y, z]: Float64Array) => Math.hypot(Math.max(0, Math.abs(y!) - 0.02), Math.max(0, z! - 0.2)) - 0.02;

describe("a wall between start and end", () => {
  const straight = check(gantryCell(across("behind")));
  const found = check(gantryCell(across("{ to: behind, route: find }")));

  it("is hit by the straight motion, and passed over by the found one with the clearance wanted", () => {
    expect(findingsOf(straight).map(({ code }) => code)).toEqual(["collision"]);
    expect(findingsOf(found)).toEqual([]);
    expect(found.report.clearance!.certified_m).toBeGreaterThanOrEqual(0.01);
    expect(found.report.clearance!.pair).toEqual(["gripper.ball", "wall"]);
    const { least, way } = looked(motionOf(found), toWall);
    expect(least).toBeGreaterThanOrEqual(0.01 - 1e-9);
    // A string over the two edges, 30 mm off: the ball's radius and the clearance.
    const over = Math.hypot(0.38, 0.2);
    const tangent = Math.sqrt(over ** 2 - 0.03 ** 2);
    const turn = Math.atan2(0.2, 0.38) + Math.asin(0.03 / over);
    const shortest = 2 * tangent + 0.04 + 2 * 0.03 * turn;
    expect(way).toBeGreaterThan(0.8);
    expect(way).toBeGreaterThan(shortest - 1e-4);
    expect(way).toBeLessThan(1.35 * shortest);
  });

  it("is one motion without a stop, told as one step", () => {
    const motion = motionOf(found);
    expect(motion.segmentEnds).toEqual([motion.duration]);
    expect(motion.blends).toEqual([0]);
    const state = { q: new Float64Array(3), qd: new Float64Array(3), qdd: new Float64Array(3) };
    let slowest = Number.POSITIVE_INFINITY;
    for (let time = 0.2; time < motion.duration - 0.2; time += 0.001) {
      motion.sample(time, state);
      slowest = Math.min(slowest, Math.hypot(...state.qd));
    }
    expect(slowest).toBeGreaterThan(0.05);
    expect(motion.duration).toBeGreaterThan(motionOf(straight).duration);
  });

  it("is passed by the same route for the same seed, and by another for another", () => {
    const again = check(gantryCell(across("{ to: behind, route: find }")));
    const other = check(
      gantryCell(across("{ to: behind, route: find }", { motion: "{ line step: 2 mm, route seed: 2 }" })),
    );
    const places = (motion: Motion) => {
      const state = { q: new Float64Array(3), qd: new Float64Array(3), qdd: new Float64Array(3) };
      return [0.3, 0.5, 0.7].map((share) => {
        motion.sample(share * motion.duration, state);
        return [...state.q];
      });
    };
    expect(places(motionOf(again))).toEqual(places(motionOf(found)));
    expect(places(motionOf(other))).not.toEqual(places(motionOf(found)));
    expect(findingsOf(other)).toEqual([]);
  });

  it("is not searched for again by a check that remembers", () => {
    const memory = { motions: new MotionMemory(), clearance: new ClearanceMemory() };
    const cell = gantryCell(across("{ to: behind, route: find }"));
    const cold = check(cell, memory);
    expect(memory.clearance.routes.searches).toBe(1);
    const warm = check(gantryCell(across("{ to: behind, route: find }")), memory);
    expect(memory.clearance.routes.searches).toBe(1);
    expect(warm.report).toEqual(cold.report);
    expect(warm.clearance.work.answers).toBe(0);
    check(gantryCell(across("{ to: behind, route: find, clearance: 12 mm }")), memory);
    expect(memory.clearance.routes.searches).toBe(2);
  });

  it("keeps what the step wants", () => {
    const wide = check(gantryCell(across("{ to: behind, route: find, clearance: 50 mm }")));
    expect(findingsOf(wide)).toEqual([]);
    expect(looked(motionOf(wide), toWall).least).toBeGreaterThanOrEqual(0.05 - 1e-9);
  });
});

it("certifies the finished motion, not the corners alone", () => {
  const cell = gantryCell(across("{ to: behind, route: find, clearance: 30 mm }"));
  const motion = motionOf(check(cell));
  const arm = buildArm(cell.arm);
  const scene = createSceneBuilder(cell, arm).sceneFor({ held: new Map(), resting: new Map(), devices: new Map() });
  const swept = createSweptScene(arm, scene.bodies, scene.slides, scene.pairs);
  expect(swept.clear(motion.swept, 0.03)).toBe(true);
});
