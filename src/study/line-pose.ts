/** Poses on the way of a straight line whose orientation turns about one fixed axis. */
import { angleBetween, compose, copyPose, distanceBetween, invert, type Pose, rotationAbout } from "../math/pose.ts";
import type { Radians } from "../math/units.ts";

export interface PosesBetween {
  /** m */
  readonly length: number;
  /** rad, 0 to π */
  readonly angle: number;
  /** The pose at a share of the way, 0 to 1; valid until the next call. */
  at(share: number): Pose;
}

/** Orientations that differ by less are the same, rad. */
const SAME = 1e-9;

export function betweenPoses(from: Pose, to: Pose): PosesBetween {
  const angle = angleBetween(from, to);
  const length = distanceBetween(from, to);
  const out = copyPose(from);
  const turn = angle < SAME ? undefined : turnAxis(compose(invert(from), to));
  return {
    length,
    angle,
    at(share) {
      copyPose(from, out);
      if (turn !== undefined) compose(from, rotationAbout(turn, (share * angle) as Radians), out);
      for (const k of [3, 7, 11]) out[k] = from[k]! + share * (to[k]! - from[k]!);
      return out;
    },
  };
}

/** Axis of a rotation by more than 0: from its skew part, or from its symmetric part near half a turn. */
function turnAxis(t: Pose): [number, number, number] {
  const skew: [number, number, number] = [t[9]! - t[6]!, t[2]! - t[8]!, t[4]! - t[1]!];
  if (Math.hypot(...skew) > 1e-6) return skew;
  // R + 1 = 2·a·aᵀ at half a turn: its longest column is along the axis.
  const columns = [0, 1, 2].map(
    (c) => [0, 4, 8].map((r) => t[r + c]! + (r === 4 * c ? 1 : 0)) as [number, number, number],
  );
  return columns.sort((a, b) => Math.hypot(...b) - Math.hypot(...a))[0]!;
}
