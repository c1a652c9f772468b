/** The ways out of a place that a user asks for: for every `hold` and `free` there in a run of one part. */
import { buildArm } from "../../arm/index.ts";
import type { Cell } from "../../cell/model.ts";
import type { MeshLibrary } from "../../clearance/index.ts";
import { simulate } from "../../cycle/index.ts";
import { MotionMemory } from "../../motion/index.ts";
import { ClearanceMemory } from "../clearance/memory.ts";
import { createSceneBuilder } from "../clearance/moving-scene.ts";
import { requiredClearance } from "../clearance/required.ts";
import { createMover } from "../mover.ts";
import { type PlaceRetreats, type PlaceVisit, retreatsFor, visitsOf } from "./retreats.ts";

export interface PlaceWaysOptions {
  readonly holder: string;
  /** Part that is run. */
  readonly variant: string;
  /** Distance kept, m; default that of the cell. */
  readonly margin?: number;
  readonly meshes?: MeshLibrary;
}

export interface PlaceWays {
  readonly visit: PlaceVisit;
  readonly retreats: readonly PlaceRetreats[];
}

/** Of each step the first time that it is performed. Empty when the routine closes or opens no gripper there. */
export function placeWays(cell: Cell, options: PlaceWaysOptions): PlaceWays[] {
  const { holder, variant, margin = requiredClearance(cell), meshes } = options;
  const arm = buildArm(cell.arm);
  const memory = new ClearanceMemory();
  const mover = createMover(cell, arm, new MotionMemory(), undefined, { memory, ...(meshes && { meshes }) });
  const run = simulate(cell, mover, { variant, pace: "nominal" });
  const seen = new Set<string>();
  const visits = visitsOf(cell, run, (jaw) => {
    if (jaw.holder !== holder || seen.has(jaw.step.id)) return false;
    seen.add(jaw.step.id);
    return true;
  });
  const builder = createSceneBuilder(cell, arm, meshes, memory);
  return visits.map((visit) => ({ visit, retreats: retreatsFor(cell, arm, builder, memory, visit, margin) }));
}
