/** Swept scenes: who may meet whom, and questions about whole motions. */
import type { Arm } from "../../arm/model.ts";
import { ContractError } from "../../math/contract-error.ts";
import type { Distance } from "../distance.ts";
import { standing } from "./motions.ts";
import { MovingBodies } from "./moving-bodies.ts";
import { type Group, ROUNDING, Search } from "./search.ts";
import { slidePath } from "./slide-path.ts";
import type { Slide, SweptBody, SweptMinimum, SweptMotion, SweptQuery, SweptScene } from "./types.ts";

/** A place whose bodies move no farther than this and that still cannot be certified counts as not clear, m. */
const FINEST = 1e-7;
/** The bounds lose some rounding: nothing is told closer than this, m. */
const LEAST_TOLERANCE = 4 * ROUNDING;
/** Taken off the tolerance so that upper - lower keeps it after rounding, m. */
const SUBTRACTION = 1e-12;

/**
 * @param bodies on the arm (frame 0 to n), fixed in base axes (frame -1) or along a slide
 * @param pairs pairs of indices into `bodies`; at least one of the two must move
 * @throws ContractError if a frame, slide or index is out of range, a body on the arm has a slide, or both bodies of a pair are fixed
 * @example createSweptScene(arm, bodies, [], pairs).minimum(straightMotion(from, to), { tolerance: 0.0005 }).lower
 */
export function createSweptScene(
  arm: Arm,
  bodies: readonly SweptBody[],
  slides: readonly Slide[],
  pairs: readonly (readonly [number, number])[],
): SweptScene {
  const { n } = arm;
  for (const [i, { frame, frameFromBody, slide }] of bodies.entries()) {
    if (!(Number.isInteger(frame) && frame >= -1 && frame <= n))
      throw new ContractError(`createSweptScene: bodies[${i}].frame must be -1 to ${n}, got ${frame}`);
    if (slide !== undefined && !(slide in slides && frame === -1))
      throw new ContractError(
        `createSweptScene: bodies[${i}].slide must be below ${slides.length} and its frame -1, got slide ${slide}, frame ${frame}`,
      );
    if (frameFromBody.length < 12 || !frameFromBody.subarray(0, 12).every(Number.isFinite))
      throw new ContractError(`createSweptScene: bodies[${i}].frameFromBody must be finite, got ${frameFromBody}`);
  }
  const isFixed = (i: number) => bodies[i]!.frame < 0 && bodies[i]!.slide === undefined;
  for (const [k, [i, j]] of pairs.entries()) {
    if (!(i in bodies && j in bodies && i !== j))
      throw new ContractError(
        `createSweptScene: pairs[${k}] must name two bodies below ${bodies.length}, got ${i}, ${j}`,
      );
    if (isFixed(i) && isFixed(j))
      throw new ContractError(`createSweptScene: pairs[${k}] must have a body that moves, ${i} and ${j} are fixed`);
  }
  return new Scene(arm, bodies, slides, pairs);
}

/** Pairs by what they depend on: the arm, and which slides. */
function groupsOf(bodies: readonly SweptBody[], pairs: readonly (readonly [number, number])[]): Group[] {
  const groups = new Map<string, { arm: boolean; slides: number[]; pairs: number[] }>();
  for (const [k, pair] of pairs.entries()) {
    const arm = pair.some((i) => bodies[i]!.frame >= 0);
    const slides = [...new Set(pair.flatMap((i) => bodies[i]!.slide ?? []))];
    const key = `${arm} ${slides.join()}`;
    const group = groups.get(key) ?? { arm, slides, pairs: [] };
    group.pairs.push(k);
    groups.set(key, group);
  }
  return [...groups.values()].map(({ arm, slides, pairs: list }) => ({ arm, slides, pairs: Int32Array.from(list) }));
}

class Scene implements SweptScene {
  readonly pairs: Int32Array;
  pair = -1;
  time = 0;
  share = 0;
  private readonly joints: number;
  private readonly search: Search;

  constructor(
    arm: Arm,
    bodies: readonly SweptBody[],
    slides: readonly Slide[],
    pairs: readonly (readonly [number, number])[],
  ) {
    this.joints = arm.n;
    this.pairs = Int32Array.from(pairs.flat());
    const moving = new MovingBodies(arm, bodies, slides.map(slidePath));
    this.search = new Search(arm.n, moving, this.pairs, groupsOf(bodies, pairs));
  }

  minimum(motion: SweptMotion, query: SweptQuery): SweptMinimum {
    const { search } = this;
    const { tolerance, cutoff = Number.POSITIVE_INFINITY, among, enough = Number.NEGATIVE_INFINITY } = query;
    if (!(tolerance > 0)) throw new ContractError(`swept: tolerance must be above 0 m, got ${tolerance}`);
    if (Number.isNaN(cutoff) || Number.isNaN(enough))
      throw new ContractError(`swept: cutoff and enough must be numbers, got ${cutoff} and ${enough}`);
    this.requireAmong(among);
    search.run(motion, Math.max(tolerance, LEAST_TOLERANCE) - SUBTRACTION, cutoff, enough, 0, among, query.states);
    const { upper, states, time, share, secondShare, pair } = search;
    const lower = upper < enough ? Number.NEGATIVE_INFINITY : Math.min(search.lower, upper - ROUNDING);
    if (pair < 0 || lower >= cutoff)
      return { lower, upper: Number.POSITIVE_INFINITY, pair: -1, time: 0, share: 0, witness: noWitness(), states };
    return {
      lower,
      upper,
      pair,
      time,
      share,
      ...(search.hasSecond && { secondShare }),
      witness: search.witness.slice(),
      states,
    };
  }

  clear(motion: SweptMotion, margin: number, among?: Uint8Array): boolean {
    const { search } = this;
    if (!Number.isFinite(margin)) throw new ContractError(`swept: margin must be finite, got ${margin} m`);
    this.requireAmong(among);
    search.run(motion, Number.NEGATIVE_INFINITY, margin, margin, FINEST, among);
    if (search.upper < margin) {
      this.pair = search.pair;
      this.time = search.time;
      this.share = search.share;
      return false;
    }
    const { unsettled } = search;
    this.pair = unsettled?.pair ?? -1;
    this.time = unsettled?.time ?? 0;
    this.share = unsettled?.share ?? 0;
    return unsettled === undefined;
  }

  stateMinimum(q: ArrayLike<number>, query: SweptQuery): SweptMinimum {
    if (q.length !== this.joints)
      throw new ContractError(`stateMinimum: q must have ${this.joints} values, got ${q.length}`);
    return this.minimum(standing(q), query);
  }

  private requireAmong(among: Uint8Array | undefined): void {
    if (among !== undefined && among.length !== this.pairs.length / 2)
      throw new ContractError(`swept: among must have ${this.pairs.length / 2} entries, got ${among.length}`);
  }
}

const noWitness = (): Distance => new Float64Array(10);
