/**
 * Planned motions remembered by what they were planned from, so that the same motion is planned once: in every pass of a
 * routine, and again when a cell is checked anew after a change that does not touch it.
 */
import type { Planner } from "./plan.ts";
import type { MotionOutcome, MotionRequest, Segment } from "./types.ts";

/** Motions kept by one memory unless told otherwise; the ones not asked for longest go first. */
const MOST = 20_000;

/** Holds motions of any number of arms. */
export class MotionMemory {
  readonly #known = new Map<string, MotionOutcome>();
  readonly #most: number;

  /** @param most motions kept, at least 1 */
  constructor(most = MOST) {
    this.#most = most;
  }

  /** Number of motions kept. */
  get size(): number {
    return this.#known.size;
  }

  recall(key: string, plan: () => MotionOutcome): MotionOutcome {
    const known = this.#known.get(key);
    const outcome = known ?? plan();
    // Put in again, so that the first entry is always the one not asked for longest.
    this.#known.delete(key);
    this.#known.set(key, outcome);
    if (this.#known.size > this.#most) this.#known.delete(this.#known.keys().next().value!);
    return outcome;
  }
}

/**
 * A planner that asks `memory` first.
 * @param armKey tells arms apart: equal for two arms only if geometry, limits and masses are equal (see `armKeyOf`)
 */
export function rememberingPlanner(planner: Planner, armKey: string, memory: MotionMemory): Planner {
  return { plan: (request) => memory.recall(`${armKey}|${requestKey(request)}`, () => planner.plan(request)) };
}

/** Text that is equal for two arms only if every number that motions depend on is equal. */
export function armKeyOf(arm: MotionRequest["arm"]): string {
  const arrays = [
    arm.prismatic,
    arm.fixed,
    arm.min,
    arm.max,
    arm.velocity,
    arm.acceleration,
    arm.jerk,
    arm.torque,
    arm.motorInertia,
    arm.mass,
    arm.centre,
    arm.inertia,
  ];
  return [arm.name, arm.jointNames.join(), arm.hasMasses, ...arrays.map((values) => values.join())].join(";");
}

/** Every number of a request, to the last bit, as text. */
export function requestKey({
  start,
  segments,
  flangeFromTcp,
  tool,
  payload,
  gravity,
  lineStep,
}: MotionRequest): string {
  const load =
    payload === undefined ? "" : [payload.mass, ...numbers(payload.centre), ...numbers(payload.inertia)].join();
  const limits = [tool.speed, tool.acceleration, tool.jerk, tool.turnSpeed, tool.turnAcceleration, lineStep].join();
  return [start.join(), flangeFromTcp.join(), limits, load, gravity.join(), ...segments.map(segmentKey)].join(";");
}

const numbers = (values: ArrayLike<number>): number[] => Array.from(values);

function segmentKey(segment: Segment): string {
  const { fraction, toolSpeed, toolAcceleration, constant } = segment.speed;
  const via = segment.kind === "arc" ? segment.via.join() : "";
  return [segment.kind, segment.to.join(), via, segment.blend, fraction, toolSpeed, toolAcceleration, constant].join();
}
