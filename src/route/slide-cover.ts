/**
 * Bodies that stand still and together hold everything that a body on a slide can take up, wherever it stands.
 *
 * A core with corners (of a sphere, capsule, box or hull) that goes straight sweeps the convex hull of its two ends; with its radius
 * around that, it is covered exactly. Anything else is cut into pieces of the way; the body in the middle of a piece, thickened by the farthest that a point of it goes from there within
 * the piece, holds the body everywhere on the piece. The thickening is at most `COVER`.
 */
import { type Body, CYLINDER, HULL, hullBody, MESH, POINT, sphereBody } from "../clearance/body.ts";
import type { Slide } from "../clearance/swept/types.ts";
import {
  angleBetween,
  compose,
  distanceBetween,
  identityPose,
  invert,
  type Pose,
  rotationAbout,
} from "../math/pose.ts";

/** Most thickening of a piece, m, unless that takes more than MOST_PIECES. */
const COVER = 0.005;
const MOST_PIECES = 256;
/** Turn, rad, below which a slide counts as straight; what it moves a point by is added to the hull. */
const STRAIGHT = 1e-9;
/** Angle, rad, from half a turn up to which the sense of turning is not told by the ends. */
const HALF = 1e-6;

export interface StandingBody {
  readonly body: Body;
  /** What is surely taken up, in the same place: the body without thickening. */
  readonly within: Body;
  readonly baseFromBody: Pose;
}

/** @param ownerFromBody place of the body in the frame that slides */
export function coverSlide(body: Body, ownerFromBody: Pose, slide: Slide): StandingBody[] {
  const { baseFromOwnerStart, baseFromOwnerEnd } = slide;
  const start = compose(baseFromOwnerStart, ownerFromBody),
    end = compose(baseFromOwnerEnd, ownerFromBody);
  const angle = angleBetween(baseFromOwnerStart, baseFromOwnerEnd);
  // No point of the body is farther from the owner's origin than this.
  const arm = Math.hypot(...at(ownerFromBody, body.cx, body.cy, body.cz)) + body.bound;
  const way = distanceBetween(baseFromOwnerStart, baseFromOwnerEnd) + angle * arm;
  if (way === 0) return [{ body, within: body, baseFromBody: start }];
  if (angle < STRAIGHT && body.kind !== CYLINDER && body.kind !== MESH) {
    const corners = cornersOf(body);
    const both = [start, end].flatMap((pose) => corners.map(([x, y, z]) => at(pose, x, y, z)));
    const hull = hullBody(both);
    const within = { ...hull, ...thickened(hull, body.radius) };
    return [{ body: { ...hull, ...thickened(hull, body.radius + angle * arm) }, within, baseFromBody: identityPose() }];
  }
  const pieces = Math.min(MOST_PIECES, Math.ceil(way / 2 / COVER));
  const thick = { ...body, ...thickened(body, body.radius + way / pieces / 2) };
  const axis = turnAxis(baseFromOwnerStart, baseFromOwnerEnd);
  // Half a turn may go either way round: both are covered, neither is surely taken up.
  const isHalf = angle > Math.PI - HALF;
  const within = isHalf ? sphereBody(Number.MIN_VALUE) : body;
  return (isHalf ? [angle, -angle] : [angle]).flatMap((turn) =>
    Array.from({ length: pieces }, (_, k) => {
      const share = (k + 0.5) / pieces;
      const owner = compose(rotationAbout(axis, share * turn), baseFromOwnerStart);
      for (const c of [3, 7, 11])
        owner[c] = baseFromOwnerStart[c]! + share * (baseFromOwnerEnd[c]! - baseFromOwnerStart[c]!);
      return { body: thick, within, baseFromBody: compose(owner, ownerFromBody) };
    }),
  );
}

/** The body with another radius. */
function thickened(body: Body, radius: number): Pick<Body, "radius" | "bound"> {
  return { radius, bound: body.bound + radius - body.radius };
}

function at(pose: Pose, x: number, y: number, z: number): [number, number, number] {
  return [0, 4, 8].map((r) => pose[r]! * x + pose[r + 1]! * y + pose[r + 2]! * z + pose[r + 3]!) as [
    number,
    number,
    number,
  ];
}

function cornersOf({ kind, hx, hy, hz, xs, ys, zs }: Body): (readonly [number, number, number])[] {
  if (kind === POINT) return [[0, 0, 0]];
  if (kind === HULL) return Array.from(xs, (x, i) => [x, ys[i]!, zs[i]!] as const);
  return [-hx, hx].flatMap((x) => [-hy, hy].flatMap((y) => [-hz, hz].map((z) => [x, y, z] as const)));
}

/** Axis (base axes) of the turn from `a` to `b`; any axis where there is no turn. */
function turnAxis(a: Pose, b: Pose): [number, number, number] {
  const turn = compose(b, invert(a));
  const x = turn[9]! - turn[6]!,
    y = turn[2]! - turn[8]!,
    z = turn[4]! - turn[1]!;
  if (Math.hypot(x, y, z) > 1e-6) return [x, y, z];
  // No turn, or a half turn: then R + 1 = 2·axis·axisᵀ; its longest column is the axis.
  const columns = [0, 1, 2].map(
    (c) => [0, 1, 2].map((r) => turn[4 * r + c]! + (r === c ? 1 : 0)) as [number, number, number],
  );
  const lengths = columns.map(([a, b, c]) => a * a + b * b + c * c);
  return columns[lengths.indexOf(Math.max(...lengths))]!;
}
