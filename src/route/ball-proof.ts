/**
 * A proof that no route exists. A ball inside a body that the arm carries would have to get from its place at the start to its
 * place at the goal without coming nearer to any standing body than the margin. If it cannot do so as a free point with a
 * radius, neither can the arm with all its other bodies.
 *
 * Space is cut into cells, coarse to fine. A cell is closed off when all of it is too near to one body or out of the arm's
 * reach: the distance at the middle changes by no more than half a diagonal within the cell. What is not closed off is held to
 * be free, so that "cannot" is certain and "can" is not.
 */
import { type Body, sphereBody } from "../clearance/body.ts";
import { newDistance, placedDistance } from "../clearance/distance.ts";
import { type Ball, ballsOf, boxOf, placeOf, reachOf } from "./carried-ball.ts";
import type { ChainState } from "./chain-state.ts";
import { CLOSED, FREE, MIXED, Octree } from "./octree.ts";
import type { StandingScene } from "./standing-scene.ts";

/** Smallest half edge of a cell, as a share of the ball's radius plus margin, and its least value, m. */
const FINEST_SHARE = 0.1;
const FINEST = 0.002;
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
