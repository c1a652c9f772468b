/**
 * A proof that no route exists. A ball inside a body that the arm carries would have to get from its place at the start to its
 * place at the goal without coming nearer to any standing body than the margin. If it cannot do so as a free point with a
 * radius, neither can the arm with all its other bodies.
 *
 * Space is cut into cells, coarse to fine. A cell is closed off when all of it is too near to one body or out of the arm's
 * reach: the distance at the middle changes by no more than half a diagonal within the cell. What is not closed off is held to
 * be free, so that "cannot" is certain and "can" is not.
 */
import { type Body, HULL, MESH, POINT, SEGMENT, sphereBody } from "../clearance/body.ts";
import { distance, newDistance, placedDistance } from "../clearance/distance.ts";
import { identityPose, translation } from "../math/pose.ts";
import type { ChainState } from "./chain-state.ts";
import { CLOSED, FREE, MIXED, Octree } from "./octree.ts";
import type { StandingScene } from "./standing-scene.ts";

/** Smallest half edge of a cell, as a share of the ball's radius plus margin, and its least value, m. */
const FINEST_SHARE = 0.1;
const FINEST = 0.002;
/** How many of the balls are tried, the largest of the most outward frames first. */
const MOST_BALLS = 3;
/** Least radius, m, of a ball worth trying. */
const LEAST_RADIUS = 0.002;

interface Ball {
  /** Index of its body among the standing scene's. */
  readonly body: number;
  /** Middle in the body's frame, m. */
  readonly middle: readonly [number, number, number];
  readonly radius: number;
}

export interface BallProof {
  /** Bodies of the scene: the one that holds the ball, and the one that closes off the most. */
  readonly pair: readonly [number, number];
  readonly radius: number;
  /** Half edge of the smallest cells, m. */
  readonly finest: number;
  /** True: it is the start that is closed in; false: the goals. */
  readonly startClosedIn: boolean;
}

/**
 * @param work counts looked-at cells; gives up when `count` reaches `most`
 * @returns undefined when nothing is proved
 */
export function proveNoWay(
  scene: StandingScene,
  state: ChainState,
  start: ArrayLike<number>,
  goals: readonly ArrayLike<number>[],
  work: { count: number; readonly most: number; readonly cancelled?: () => boolean },
): BallProof | undefined {
  let open = goals;
  let proof: BallProof | undefined;
  for (const ball of ballsOf(scene)) {
    const reach = reachOf(scene, ball);
    if (reach === undefined) continue;
    const from = placeOf(state, ball, start);
    const places = open.map((q) => placeOf(state, ball, q));
    const space = new Space(scene, ball, reach);
    const closed = space.separate(from, places, work);
    if (closed.some(Boolean)) {
      open = open.filter((_, k) => !closed[k]);
      proof ??= space.proof(from);
    }
    if (open.length === 0) return proof;
    if (work.count >= work.most || work.cancelled?.()) return undefined;
  }
  return undefined;
}

/** Balls inside carried bodies, the best first. */
function ballsOf(scene: StandingScene): Ball[] {
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
function boxOf(scene: StandingScene, { body, middle }: Ball): Float64Array {
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
function reachOf(scene: StandingScene, { body, middle }: Ball): number | undefined {
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

function placeOf(state: ChainState, { body, middle }: Ball, q: ArrayLike<number>) {
  state.moveTo(q);
  state.place(body);
  return [0, 4, 8].map((r) => along(state.poses, 12 * body + r, middle)) as [number, number, number];
}

const along = (pose: Float64Array, at: number, [x, y, z]: readonly [number, number, number]) =>
  pose[at]! * x + pose[at + 1]! * y + pose[at + 2]! * z + pose[at + 3]!;

/** The space that a ball's middle could be in. */
class Space {
  private readonly scene: StandingScene;
  private readonly ball: Ball;
  private readonly reach: number;
  private readonly box: Float64Array;
  private readonly tree: Octree;
  private readonly centre: readonly [number, number, number];
  private readonly obstacles: Int32Array;
  /** Of each cell the obstacles that are not far from all of it: a stretch of `near`. */
  private near: number[] = [];
  private nearStart: number[] = [];
  private nearEnd: number[] = [];
  /** Of each closed cell the obstacle that closes it; -1: out of reach. */
  private closer: number[] = [];
  private smallest: number;
  private readonly point: Body;
  private readonly pose = new Float64Array([1, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1, 0]);
  private readonly out = newDistance();

  constructor(scene: StandingScene, ball: Ball, reach: number) {
    this.scene = scene;
    this.ball = ball;
    this.reach = reach;
    this.box = boxOf(scene, ball);
    const { fixed } = scene.arm;
    this.centre = [fixed[3]!, fixed[7]!, fixed[11]!];
    const half = reach * 1.01 + 1e-6;
    this.tree = new Octree(...this.centre, half);
    this.smallest = half;
    const { first, second, depth } = scene;
    const obstacles: number[] = [];
    for (let k = 0; k < first.length; k++)
      if (second[k] === ball.body && depth[first[k]!] === 0) obstacles.push(first[k]!);
    this.obstacles = Int32Array.from(obstacles);
    this.point = { ...sphereBody(1), radius: 0, bound: 0 };
    this.near = [...this.obstacles.keys()];
    this.nearStart[0] = 0;
    this.nearEnd[0] = this.near.length;
    this.tree.kind[0] = MIXED;
  }

  /** For each of the places whether it is proved that the ball cannot get there. */
  separate(
    from: readonly [number, number, number],
    places: readonly (readonly [number, number, number])[],
    work: { count: number; readonly most: number; readonly cancelled?: () => boolean },
  ): boolean[] {
    const { tree, ball, scene } = this;
    const finest = Math.max(FINEST, FINEST_SHARE * (ball.radius + scene.margin));
    for (;;) {
      tree.join(FREE);
      const start = tree.cellAt(...from);
      const wholly = tree.groupOf(start);
      const freely = places.map((p) => tree.kind[start] === FREE && tree.groupOf(tree.cellAt(...p)) === wholly);
      tree.join(MIXED);
      const group = tree.groupOf(start);
      const closed = places.map((p) => tree.groupOf(tree.cellAt(...p)) !== group);
      // Nothing more to gain once every place is settled one way or the other.
      if (closed.every((is, k) => is || freely[k])) return closed;
      const split: number[] = [];
      for (let cell = 0; cell < tree.count; cell++)
        if (
          tree.children[cell] === 0 &&
          tree.kind[cell] === MIXED &&
          tree.groupOf(cell) === group &&
          tree.cells[4 * cell + 3]! / 2 >= finest
        )
          split.push(cell);
      if (split.length === 0) return closed;
      for (const cell of split) {
        if (work.count + 8 > work.most || work.cancelled?.()) return closed;
        work.count += 8;
        const first = tree.split(cell);
        for (let k = 0; k < 8; k++) this.look(first + k, cell);
      }
    }
  }

  /** What the proof rests on, after `separate` has told that a place is closed off. */
  proof(from: readonly [number, number, number]): BallProof {
    const { tree, ball, obstacles, scene } = this;
    const group = tree.groupOf(tree.cellAt(...from));
    const counts = new Map<number, number>();
    let outside = 0;
    tree.faces((a, b) => {
      for (const [open, shut] of [
        [a, b],
        [b, a],
      ] as const)
        if (tree.kind[shut] === CLOSED && tree.kind[open] !== CLOSED && tree.groupOf(open) === group) {
          const by = this.closer[shut]!;
          const size = Math.min(tree.cells[4 * shut + 3]!, tree.cells[4 * open + 3]!) ** 2;
          if (by >= 0) counts.set(by, (counts.get(by) ?? 0) + size);
          else outside += size;
        }
    });
    const [most] = [...counts].sort((p, q) => q[1] - p[1] || p[0] - q[0])[0] ?? [0];
    return {
      pair: [scene.source[ball.body]!, scene.source[obstacles[most]!]!],
      radius: ball.radius,
      finest: this.smallest,
      startClosedIn: outside === 0,
    };
  }

  private look(cell: number, parent: number): void {
    const { tree, scene, ball, obstacles, near, point, pose, out, centre, box } = this;
    const { within, local, margin } = scene;
    const at = 4 * cell;
    const x = tree.cells[at]!,
      y = tree.cells[at + 1]!,
      z = tree.cells[at + 2]!,
      half = tree.cells[at + 3]!;
    if (half < this.smallest) this.smallest = half;
    // Above all rounding, so that what is told is certain.
    const diagonal = half * Math.sqrt(3) + 1e-9;
    this.nearStart[cell] = near.length;
    this.nearEnd[cell] = near.length;
    this.closer[cell] = -1;
    const away = Math.max(
      Math.hypot(x - centre[0], y - centre[1], z - centre[2]) - this.reach,
      Math.abs(x - box[0]!) - box[3]!,
      Math.abs(y - box[1]!) - box[4]!,
      Math.abs(z - box[2]!) - box[5]!,
    );
    if (away > diagonal) {
      tree.kind[cell] = CLOSED;
      return;
    }
    const need = margin + ball.radius;
    pose[3] = x;
    pose[7] = y;
    pose[11] = z;
    let kind = away > -diagonal ? MIXED : FREE;
    for (let k = this.nearStart[parent]!; k < this.nearEnd[parent]!; k++) {
      const index = near[k]!,
        body = obstacles[index]!;
      placedDistance(point, pose, 0, within[body]!, local, 12 * body, need + diagonal, out);
      if (out[0]! + diagonal < need) {
        tree.kind[cell] = CLOSED;
        this.closer[cell] = index;
        return;
      }
      if (out[0]! - diagonal < need) {
        near.push(index);
        kind = MIXED;
      }
    }
    this.nearEnd[cell] = near.length;
    tree.kind[cell] = kind;
  }
}
