/** Where routes may go: joint limits, and the box that states are drawn from. */
import type { Arm } from "../arm/model.ts";

/** Room, rad or m, that is searched beyond start and goals where a joint has no stop. */
const FREE_TURN = Math.PI;
const FREE_SLIDE = 1;

export interface Box {
  readonly min: Float64Array;
  readonly max: Float64Array;
}

/** First joint whose value is outside its limits or not a number; -1: none. */
export function jointOutside(arm: Arm, q: ArrayLike<number>): number {
  for (let i = 0; i < arm.n; i++) if (!(q[i]! >= arm.min[i]! && q[i]! <= arm.max[i]!)) return i;
  return -1;
}

/** Joint limits, and half a turn (1 m) beyond the outermost of the given states where there is none. */
export function searchBox(arm: Arm, states: readonly ArrayLike<number>[]): Box {
  const { n, prismatic } = arm;
  const min = new Float64Array(n),
    max = new Float64Array(n);
  for (let i = 0; i < n; i++) {
    const values = states.map((q) => q[i]!);
    const room = prismatic[i] === 1 ? FREE_SLIDE : FREE_TURN;
    min[i] = arm.min[i]! > Number.NEGATIVE_INFINITY ? arm.min[i]! : Math.min(...values) - room;
    max[i] = arm.max[i]! < Number.POSITIVE_INFINITY ? arm.max[i]! : Math.max(...values) + room;
  }
  return { min, max };
}
