/** Moment of the load on one jaw: the part's centre of mass lies away from where the jaws are guided. */
import type { NewtonMetres } from "../math/units.ts";

/**
 * |r × f| / n, the moment of the load f (N) at the lever r (m) shared equally by n jaws, N m. The moment of the clamping force
 * itself is not in it: makers' rated moments are what may act besides.
 * @source statics
 * @example jawMoment([0, 0, 0.05], [0, 20, 0], 2) // 0.5
 */
export function jawMoment(lever: ArrayLike<number>, force: ArrayLike<number>, jaws: number): NewtonMetres {
  const [x, y, z] = momentOf(lever, force);
  return Math.hypot(x, y, z) / jaws;
}

/** r × f, N m. Its x part turns the part about the line from jaw to jaw. */
export function momentOf(r: ArrayLike<number>, f: ArrayLike<number>): [number, number, number] {
  return [r[1]! * f[2]! - r[2]! * f[1]!, r[2]! * f[0]! - r[0]! * f[2]!, r[0]! * f[1]! - r[1]! * f[0]!];
}
