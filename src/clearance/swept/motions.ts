/** Motions whose bounds are exact by their form. */
import { ContractError } from "../../math/contract-error.ts";
import type { SweptMotion } from "./types.ts";

/**
 * Straight line in joint space from one state to another at a constant rate, lasting 1 s.
 * @param from, to joint values, rad or m @throws ContractError if the lengths differ or a value is not finite
 */
export function straightMotion(from: ArrayLike<number>, to: ArrayLike<number>): SweptMotion {
  if (from.length !== to.length)
    throw new ContractError(`straightMotion: from and to must be as long, got ${from.length} and ${to.length}`);
  const start = Float64Array.from(from);
  const way = Float64Array.from(to, (v, i) => v - start[i]!);
  for (let i = 0; i < way.length; i++)
    if (!Number.isFinite(way[i]!))
      throw new ContractError(`straightMotion: joint ${i + 1} must be finite, got ${from[i]} to ${to[i]}`);
  return {
    duration: 1,
    position(time, q) {
      for (let i = 0; i < start.length; i++) q[i] = start[i]! + time * way[i]!;
    },
    spread(t0, t1, out) {
      const half = (t1 - t0) / 2;
      for (let i = 0; i < start.length; i++) out[i] = half * Math.abs(way[i]!) + 2 ** -51 * Math.abs(start[i]!);
    },
  };
}

/** An arm that stands still, for no time. @param q joint values, rad or m; read when asked, not copied */
export function standing(q: ArrayLike<number>): SweptMotion {
  return {
    duration: 0,
    position(_, out) {
      for (let i = 0; i < q.length; i++) out[i] = q[i]!;
    },
    spread(_from, _to, out) {
      out.fill(0);
    },
  };
}
