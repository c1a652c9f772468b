/** Rough bounds of the path parameter, for the reference law and the resolution of the grid. */
import type { GroupLimits, PathLimits } from "./path-types.ts";
import { PathUse } from "./path-use.ts";
import type { RoughBounds } from "./reference-law.ts";

/** Least time over which an acceleration is built up, as a share of the duration of the stretch. */
const QUICKEST = 1 / 250;

/**
 * Limits whose jerk limits would build up the acceleration limit within less than QUICKEST of the duration (or which have
 * none), with jerk limits that take as long as that: shorter changes are below the resolution of the grid. Costs about
 * half of QUICKEST per change of acceleration.
 */
export function softened(use: PathUse, duration: number): PathUse {
  const least = QUICKEST * duration;
  const { limits } = use;
  let changed = false;
  const soft = (acceleration: number, jerk: number): number => {
    if (acceleration === Number.POSITIVE_INFINITY || jerk * least <= acceleration) return jerk;
    changed = true;
    return acceleration / least;
  };
  const softGroup = <T extends GroupLimits>(group: T): T => ({ ...group, jerk: soft(group.acceleration, group.jerk) });
  const next: PathLimits = {
    ...limits,
    jerk: limits.jerk.map((jerk, i) => soft(limits.acceleration[i]!, jerk)),
    groups: limits.groups.map(softGroup),
    ...(limits.ranges
      ? {
          ranges: limits.ranges.map((range) =>
            range.groups ? { ...range, groups: range.groups.map(softGroup) } : range,
          ),
        }
      : {}),
  };
  return changed ? new PathUse(use.path, next) : use;
}

/** Points at which the rough bounds are taken. */
const PROBES = 12;

/**
 * Typical bounds of ṡ, s̈ and s⃛ on a stretch: medians over a few points of what channels, groups and torques allow at each.
 * They shape the reference law only, so they need not be safe.
 */
export function roughBounds(use: PathUse, from: number, to: number): RoughBounds {
  const { limits } = use;
  const slow = new Float64Array(PROBES);
  const lazy = new Float64Array(PROBES);
  const soft = new Float64Array(PROBES);
  for (let p = 0; p < PROBES; p++) {
    use.load(from + ((to - from) * (p + 0.5)) / PROBES, 1);
    let v = 0;
    let a = 0;
    let j = 0;
    for (let i = 0; i < use.path.channels; i++) {
      const d1 = Math.abs(use.c1[i]!);
      const d2 = Math.abs(use.c2[i]!);
      const d3 = Math.abs(use.c3[i]!);
      const A = limits.acceleration[i]!;
      const J = limits.jerk[i]!;
      v = Math.max(v, d1 / use.stretch.velocity[i]!, Math.sqrt(d2 / A), Math.cbrt(d3 / J));
      a = Math.max(a, d1 / A);
      j = Math.max(j, d1 / J);
    }
    for (let q = 0; q < limits.groups.length; q++) {
      const { first, size } = limits.groups[q]!;
      let d1 = 0;
      let d2 = 0;
      for (let i = first; i < first + size; i++) {
        d1 += use.c1[i]! ** 2;
        d2 += use.c2[i]! ** 2;
      }
      d1 = Math.sqrt(d1);
      const A = use.stretch.groups[3 * q + 1]!;
      v = Math.max(v, d1 / use.stretch.groups[3 * q]!, Math.sqrt(Math.sqrt(d2) / A));
      a = Math.max(a, d1 / A);
      j = Math.max(j, d1 / use.stretch.groups[3 * q + 2]!);
    }
    const torque = limits.torque;
    if (torque) {
      for (let i = 0; i < torque.rows; i++) {
        a = Math.max(a, Math.abs(use.ta[i]!) / (torque.limit[i]! - Math.abs(use.tc[i]!)));
      }
    }
    slow[p] = v;
    lazy[p] = a;
    soft[p] = j;
  }
  const bound = (values: Float64Array): number => {
    const middle = values.sort()[PROBES >> 1]!;
    return middle > 0 ? 1 / middle : Number.POSITIVE_INFINITY;
  };
  return { velocity: bound(slow), acceleration: bound(lazy), jerk: bound(soft) };
}
