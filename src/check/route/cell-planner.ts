/**
 * Found routes between joint values in a cell at rest: devices at their start positions, empty grippers, no parts. Each route comes
 * as a finished motion with rounded corners, certified along its whole length.
 */
import { buildArm } from "../../arm/index.ts";
import type { Arm } from "../../arm/model.ts";
import type { Cell } from "../../cell/model.ts";
import { createSweptScene, type MeshLibrary } from "../../clearance/index.ts";
import { createPlanner, type Motion, type Segment, type SegmentSpeed } from "../../motion/index.ts";
import type { RouteOutcome } from "../../route/index.ts";
import { ClearanceMemory } from "../clearance/memory.ts";
import { createSceneBuilder, type SceneBuilder } from "../clearance/moving-scene.ts";
import { carriedLoad } from "../load.ts";
import { gravityInBase, toolLimitsOf } from "../mover.ts";
import { NO_GRIPPER, tcpOf } from "../targets.ts";
import { WIDEST } from "./along.ts";
import { fitBlends } from "./blends.ts";
import { type MomentScene, momentScene } from "./scene.ts";

/** Nothing but the limits of arm and tool. */
const FREE: SegmentSpeed = {
  fraction: 1,
  toolSpeed: Number.POSITIVE_INFINITY,
  toolAcceleration: Number.POSITIVE_INFINITY,
  constant: false,
};
/** How closely the clearance of the finished motion is told, m; distances beyond the second are not told. */
const TOLERANCE = 0.0002;
const FARTHEST = 10;

export interface PlannerOptions {
  /** Distance that every pair keeps along the whole motion, m, at least 0. */
  readonly margin: number;
  /** Most states looked at for one route. */
  readonly states: number;
  /** Room above the margin that the route keeps where it can, m; default 1 mm. */
  readonly room?: number;
  readonly meshes?: MeshLibrary;
}

export type PlannedRoute =
  | {
      readonly ok: true;
      /** Corners, start and goal included; straight in joint values between them. */
      readonly path: readonly Float64Array[];
      /** Euclidean in joint values, rad (m for slides). */
      readonly length: number;
      /** With corners rounded as wide as stays clear. */
      readonly motion: Motion;
      /** Lower bound of the least distance along path and motion, m; undefined: above 10 m. */
      readonly clearance: number | undefined;
      readonly states: number;
    }
  | {
      readonly ok: false;
      readonly reason: Extract<RouteOutcome, { ok: false }>["reason"] | "not certified" | "motion failed";
      readonly message: string;
      /** Names of the two bodies. */
      readonly pair: readonly [string, string] | undefined;
      readonly states: number;
    };

export interface CellPlanner {
  readonly arm: Arm;
  readonly builder: SceneBuilder;
  /** Pairs of bodies that are compared. */
  readonly pairs: number;
  plan(start: Float64Array, goal: Float64Array, seed: number): PlannedRoute;
}

/** @throws ContractError if a joint has no limit that a motion could be timed by, or the margin is below 0 */
export function createCellPlanner(cell: Cell, options: PlannerOptions): CellPlanner {
  const { margin, states, room = 0.001, meshes } = options;
  const arm = buildArm(cell.arm);
  const memory = new ClearanceMemory();
  const builder = createSceneBuilder(cell, arm, meshes, memory);
  const still = { held: new Map(), resting: new Map(), devices: new Map() };
  const moment: MomentScene = momentScene(arm, builder, memory, still, []);
  const { elements, bodies, slides } = moment.scene;
  const planner = createPlanner(arm);
  const swept = createSweptScene(arm, bodies, slides, moment.pairs);
  const [gripper = NO_GRIPPER] = cell.tool.grippers.keys();
  const common = {
    arm,
    flangeFromTcp: tcpOf(cell, gripper),
    tool: toolLimitsOf(cell),
    payload: carriedLoad(cell, new Map()),
    gravity: gravityInBase(cell),
    lineStep: cell.motion.lineStep,
  };

  return {
    arm,
    builder,
    pairs: moment.pairs.length,
    plan(start, goal, seed) {
      const found = moment.find({ start, goals: [goal], required: margin, over: 0, room, seed, states });
      if (!found.ok) {
        const { reason, message, pair } = found;
        const names = pair && ([elements[pair[0]]!.name, elements[pair[1]]!.name] as const);
        return { ok: false, reason, message, pair: names, states: found.states };
      }
      const { path, length } = found;
      const segments = path.slice(1).map((to): Segment => ({ kind: "joint", to, blend: WIDEST, speed: FREE }));
      const made = fitBlends(
        (blends) => planner.plan({ ...common, start, segments: segments.map((s, i) => ({ ...s, blend: blends[i]! })) }),
        segments.map(({ blend }) => blend),
        (motion) => moment.nearAt(motion.swept, margin),
      );
      if (!made.ok) {
        const failed = "failure" in made;
        return {
          ok: false,
          reason: failed ? "motion failed" : "not certified",
          message: failed
            ? made.failure.message
            : `the motion could not be certified ${made.nearAt.toFixed(3)} s into it`,
          pair: undefined,
          states: found.states,
        };
      }
      const { motion } = made;
      const { lower, pair } = swept.minimum(motion.swept, { tolerance: TOLERANCE, cutoff: FARTHEST });
      const least = pair < 0 ? Number.POSITIVE_INFINITY : Math.max(lower, margin);
      const clearance = Math.min(least, found.clearance);
      return {
        ok: true,
        path,
        length,
        motion,
        clearance: clearance < FARTHEST ? clearance : undefined,
        states: found.states,
      };
    },
  };
}
