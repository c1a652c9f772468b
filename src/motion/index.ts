/** Motion floor: planning, blending and timing of motions of one arm. */
export { armKeyOf, MotionMemory, rememberingPlanner, requestKey } from "./memory.ts";
export { createPlanner, type Planner, planMotion } from "./plan.ts";
export {
  createPointsTimer,
  type PointsOutcome,
  type PointsQuery,
  type PointsSetting,
  type PointsTimer,
} from "./points.ts";
export { sweptMotionOf } from "./spread.ts";
export * from "./timing/index.ts";
export type {
  LimitKind,
  LimitSpan,
  Motion,
  MotionFailure,
  MotionFailureKind,
  MotionNote,
  MotionOutcome,
  MotionRequest,
  MotionState,
  Segment,
  SegmentSpeed,
  ToolLimits,
} from "./types.ts";
