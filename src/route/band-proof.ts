/**
 * A proof that no route exists from one joint alone: a value between start and goal at which two bodies are too near whatever
 * the other joints do. A joint does not jump, so every route would pass it.
 *
 * Looked at are pairs that one or two joints move against each other. For two, the range of the other joint is cut until the
 * depth in the middle of each part shows that the bodies stay too near in all of it (no point moves faster than its distance
 * from the axis). The values looked at are a fixed number: a narrow band may be missed.
 */
import { MESH } from "../clearance/body.ts";
import { newDistance, placedDistance } from "../clearance/distance.ts";
import type { ChainState } from "./chain-state.ts";
import type { StandingScene } from "./standing-scene.ts";

/** Values looked at between start and goal. */
const VALUES = 48;
/** Parts that the other joint's range is cut into at most. */
const PARTS = 256;

export interface BandProof {
  readonly joint: number;
  /** A value that cannot be passed, rad or m. */
  readonly value: number;
  /** Of the standing scene's pairs. */
  readonly pair: number;
}

/** @returns a band for each goal, or undefined when one of them has none; `work.count` counts the distances measured */
export function proveBand(
  scene: StandingScene,
  state: ChainState,
  start: ArrayLike<number>,
  goals: readonly ArrayLike<number>[],
  work: { count: number; readonly most: number },
): BandProof | undefined {
  const search = new Bands(scene, state, work);
  let proof: BandProof | undefined;
  for (const goal of goals) {
    const band = search.between(start, goal);
    if (band === undefined) return undefined;
    proof ??= band;
  }
  return proof;
}

class Bands {
  private readonly scene: StandingScene;
  private readonly state: ChainState;
  private readonly work: { count: number; readonly most: number };
  private readonly out = newDistance();
  private readonly q: Float64Array;

  constructor(scene: StandingScene, state: ChainState, work: { count: number; readonly most: number }) {
    this.scene = scene;
    this.state = state;
    this.work = work;
    this.q = new Float64Array(scene.arm.n);
  }

  between(start: ArrayLike<number>, goal: ArrayLike<number>): BandProof | undefined {
    const { scene, q, work } = this;
    const { group, groups, bodies, first, second, arm } = scene;
    for (let pair = 0; pair < first.length; pair++) {
      const { from, to } = groups[group[pair]!]!;
      // The depth of a mesh is no more than a bound.
      if (to - from > 2 || bodies[first[pair]!]!.kind === MESH || bodies[second[pair]!]!.kind === MESH) continue;
      for (let joint = from; joint < to; joint++)
        for (let k = 1; k < VALUES && start[joint] !== goal[joint]; k++) {
          if (work.count >= work.most) return undefined;
          const value = start[joint]! + (k / VALUES) * (goal[joint]! - start[joint]!);
          for (let i = 0; i < arm.n; i++) q[i] = start[i]!;
          q[joint] = value;
          const other = to - from === 1 ? -1 : from + to - 1 - joint;
          if (this.alwaysNear(pair, other)) return { joint, value, pair };
        }
    }
    return undefined;
  }

  /** Whether the pair is too near at `q` for every value of the other joint. */
  private alwaysNear(pair: number, other: number): boolean {
    const { scene, q } = this;
    const { margin, arm, groups, group } = scene;
    // At the start's value first: mostly that is enough to tell that it is not.
    if (!(this.distance(pair) < margin - 1e-9)) return false;
    if (other < 0) return true;
    const { prismatic, min, max } = arm;
    const slides = prismatic[other] === 1;
    let low = min[other]!,
      high = max[other]!;
    if (!slides && !(high - low < 2 * Math.PI)) {
      low = -Math.PI;
      high = Math.PI;
    }
    if (!(high - low < Number.POSITIVE_INFINITY)) return false;
    const fastest = slides ? 1 : groups[group[pair]!]!.radius[other]! + this.slideBeyond(pair, other);
    const open: [number, number][] = [[(low + high) / 2, (high - low) / 2]];
    for (let parts = 0; open.length > 0; parts++) {
      if (parts === PARTS) return false;
      const [middle, half] = open.pop()!;
      q[other] = middle;
      const d = this.distance(pair);
      if (!(d < margin - 1e-9)) return false;
      if (d + fastest * half < margin - 1e-9) continue;
      open.push([middle - half / 2, half / 2], [middle + half / 2, half / 2]);
    }
    return true;
  }

  /** How far the sliding joint that the pair has beyond a turning one is out at `q`. */
  private slideBeyond(pair: number, joint: number): number {
    const { groups, group, arm } = this.scene;
    const { to } = groups[group[pair]!]!;
    return joint + 1 < to && arm.prismatic[joint + 1] === 1 ? Math.abs(this.q[joint + 1]!) : 0;
  }

  private distance(pair: number): number {
    const { scene, state, q, out, work } = this;
    const { first, second, within } = scene;
    const a = first[pair]!,
      b = second[pair]!;
    work.count++;
    state.moveTo(q);
    state.place(a);
    state.place(b);
    placedDistance(within[a]!, state.poses, 12 * a, within[b]!, state.poses, 12 * b, Number.POSITIVE_INFINITY, out);
    return out[0]!;
  }
}
