/** Deceleration of the joints in a stop from full speed at any moment of a motion. */
import type { Arm } from "../../arm/model.ts";
import type { Cell } from "../../cell/model.ts";

/** A stop within this time, s, is so short that the part cannot slip further than a fraction of a millimetre: not counted. */
const SHORTEST = 0.01;

export interface StopModel {
  /** "joint limits", or "the stated stopping time of 0.35 s". */
  readonly by: string;
  /** Accelerations of a stop that begins at the speeds `qd`, in `out`. */
  decelerate(qd: Float64Array, out: Float64Array): void;
}

/**
 * All joints come to rest together, evenly: q̈ = -q̇ / T. T is the stopping time that the cell states; without one the shortest in
 * which every joint keeps its acceleration limit, max |q̇i| / ai; where that is below 10 ms the arm counts as standing.
 * @returns undefined when neither is stated for every joint
 */
export function stopModel(cell: Cell, arm: Arm): StopModel | undefined {
  const stated = cell.guarding?.stopping?.stoppingTime;
  const { n } = arm;
  if (stated !== undefined && stated > 0)
    return {
      by: `the stated stopping time of ${Number(stated.toFixed(3))} s`,
      decelerate: (qd, out) => {
        for (let i = 0; i < n; i++) out[i] = -qd[i]! / stated;
      },
    };
  if (arm.acceleration.some((a) => !Number.isFinite(a))) return undefined;
  return {
    by: "the acceleration limits of the joints",
    decelerate: (qd, out) => {
      let time = 0;
      for (let i = 0; i < n; i++) time = Math.max(time, Math.abs(qd[i]!) / arm.acceleration[i]!);
      for (let i = 0; i < n; i++) out[i] = time < SHORTEST ? 0 : -qd[i]! / time;
    },
  };
}
