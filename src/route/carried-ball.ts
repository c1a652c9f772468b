/** Balls inside bodies that the arm carries: where one is, and where it can be at most. */
import { type Body, HULL, MESH, POINT, SEGMENT, sphereBody } from "../clearance/body.ts";
import { distance, newDistance } from "../clearance/distance.ts";
import { identityPose, translation } from "../math/pose.ts";
import type { ChainState } from "./chain-state.ts";
import type { StandingScene } from "./standing-scene.ts";

/** How many of the balls are tried, the largest of the most outward frames first. */
const MOST_BALLS = 3;
/** Least radius, m, of a ball worth trying. */
const LEAST_RADIUS = 0.002;

export interface Ball {
  /** Index of its body among the standing scene's. */
  readonly body: number;
  /** Middle in the body's frame, m. */
  readonly middle: readonly [number, number, number];
  readonly radius: number;
}

/** Balls inside carried bodies, the best first. */
export function ballsOf(scene: StandingScene): Ball[] {
  const { first, second, depth, bodies } = scene;
  const carried = new Set<number>();
  for (let k = 0; k < first.length; k++) if (depth[first[k]!] === 0) carried.add(second[k]!);
  const balls = [...carried].map((body): Ball => ({ body, ...inscribed(bodies[body]!) }));
  const outermost = Math.max(...balls.map(({ body }) => depth[body]!));
  return balls
    .filter(({ radius, body }) => radius >= LEAST_RADIUS && depth[body]! >= outermost - 1)
    .sort((p, q) => q.radius - p.radius || p.body - q.body)
    .slice(0, MOST_BALLS);
}

/** A ball inside a body about its middle: the largest for all but hulls and meshes. */
function inscribed(body: Body): Pick<Ball, "middle" | "radius"> {
  const { kind, hx, hy, hz, cx, cy, cz, radius } = body;
  const middle = [cx, cy, cz] as const;
  if (kind === POINT || kind === SEGMENT) return { middle, radius };
  if (kind !== HULL && kind !== MESH) return { middle, radius: Math.min(hx, hy, hz) + radius };
  if (kind === MESH && !body.mesh!.solid) return { middle, radius: 0 };
  const probe = 1e-6;
  const depth = -distance(sphereBody(probe), translation(cx, cy, cz), body, identityPose(), newDistance());
  return { middle, radius: Math.max(0, depth - probe) };
}

/**
 * Box along the base axes that the ball's middle never leaves: intervals carried from the ball inwards, joint by joint. Tight
 * for arms that slide, no better than the radius for arms that turn.
 */
export function boxOf(scene: StandingScene, { body, middle }: Ball): Float64Array {
  const { arm, depth, local } = scene;
  const { chain, prismatic, min, max, fixed } = arm;
  let centre = [0, 4, 8].map((r) => along(local, 12 * body + r, middle)),
    half = [0, 0, 0];
  for (let k = depth[body]! - 1; k >= 0; k--) {
    if (prismatic[k] === 1) {
      // The turn of a sliding joint's frame about its axis, a constant of the chain.
      const c = Math.cos(chain[6 * k + 5]!),
        s = Math.sin(chain[6 * k + 5]!);
      [centre, half] = turned([c, -s, 0, s, c, 0, 0, 0, 1], centre, half);
      centre[2]! += (min[k]! + max[k]!) / 2;
      half[2]! += (max[k]! - min[k]!) / 2;
    } else {
      const away = Math.hypot(Math.abs(centre[0]!) + half[0]!, Math.abs(centre[1]!) + half[1]!);
      centre = [0, 0, centre[2]!];
      half = [away, away, half[2]!];
    }
    const at = 6 * k;
    const ca = chain[at]!,
      sa = chain[at + 1]!;
    if (k > 0) {
      [centre, half] = turned([1, 0, 0, 0, ca, -sa, 0, sa, ca], centre, half);
      for (let i = 0; i < 3; i++) centre[i]! += chain[at + 2 + i]!;
    } else {
      [centre, half] = turned(
        [0, 1, 2, 4, 5, 6, 8, 9, 10].map((i) => fixed[i]!),
        centre,
        half,
      );
      for (let i = 0; i < 3; i++) centre[i]! += fixed[4 * i + 3]!;
    }
  }
  return Float64Array.from([...centre, ...half]);
}

function turned(
  rotation: readonly number[],
  centre: readonly number[],
  half: readonly number[],
): [centre: number[], half: number[]] {
  const row = (r: number, v: readonly number[], sign: (x: number) => number) =>
    sign(rotation[3 * r]!) * v[0]! + sign(rotation[3 * r + 1]!) * v[1]! + sign(rotation[3 * r + 2]!) * v[2]!;
  return [[0, 1, 2].map((r) => row(r, centre, (x) => x)), [0, 1, 2].map((r) => row(r, half, Math.abs))];
}

/** Radius about the first axis' origin within which the ball's middle always is; undefined when a slide has no stops. */
export function reachOf(scene: StandingScene, { body, middle }: Ball): number | undefined {
  const { arm, depth, local } = scene;
  const { chain, prismatic, min, max } = arm;
  const last = depth[body]! - 1;
  let reach = Math.hypot(...[0, 4, 8].map((r) => along(local, 12 * body + r, middle)));
  for (let k = last; k >= 0; k--) {
    if (prismatic[k] === 1) reach += Math.max(Math.abs(min[k]!), Math.abs(max[k]!));
    if (k > 0) reach += Math.hypot(chain[6 * k + 2]!, chain[6 * k + 3]!, chain[6 * k + 4]!);
  }
  return reach < Number.POSITIVE_INFINITY ? reach : undefined;
}

export function placeOf(state: ChainState, { body, middle }: Ball, q: ArrayLike<number>) {
  state.moveTo(q);
  state.place(body);
  return [0, 4, 8].map((r) => along(state.poses, 12 * body + r, middle)) as [number, number, number];
}

const along = (pose: Float64Array, at: number, [x, y, z]: readonly [number, number, number]) =>
  pose[at]! * x + pose[at + 1]! * y + pose[at + 2]! * z + pose[at + 3]!;
