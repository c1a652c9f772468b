/** Swept clearance: the least distance of bodies along a whole continuous motion of an arm, certified from both sides. */
import type { Pose } from "../../math/pose.ts";
import type { Metres, Seconds } from "../../math/units.ts";
import type { Body } from "../body.ts";
import type { Distance } from "../distance.ts";

/** Joint values over time, with what is needed to bound them between two times. */
export interface SweptMotion {
  readonly duration: Seconds;
  /** Joint values (rad or m) at a time in [0, duration], written to `q`. */
  position(time: Seconds, q: Float64Array): void;
  /** Per joint an upper bound of |q(t) - q((from + to) / 2)| over from ≤ t ≤ to, written to `out`. Must hold for every t, not for samples only. */
  spread(from: Seconds, to: Seconds, out: Float64Array): void;
}

/**
 * A displacement of which only the ends are known: a door or jaws that may stand anywhere between two positions at any time of
 * the motion. In between, the origin goes straight and the orientation turns about one fixed axis.
 */
export interface Slide {
  readonly baseFromOwnerStart: Pose;
  readonly baseFromOwnerEnd: Pose;
}

export interface SweptBody {
  readonly body: Body;
  /** Moving frame that carries it: 0 to n - 1 for links 1 to n in the description's link frames, n for the flange; -1: not on the arm. */
  readonly frame: number;
  /** Place in that frame, in base axes for a fixed body, in the owner's frame for a body with a slide. */
  readonly frameFromBody: Pose;
  /** Index of the slide that it moves along, only with frame -1. */
  readonly slide?: number;
}

export interface SweptMinimum {
  /** The true least distance over the whole motion and every place along the slides lies in [lower, upper], m; negative: overlap. */
  readonly lower: Metres;
  readonly upper: Metres;
  /** Pair, time and share of the pair's slide (0 without one) at which `upper` is met; pair -1 when nothing is within the cutoff. */
  readonly pair: number;
  readonly time: Seconds;
  readonly share: number;
  /** Share of the slide of the pair's second body, where its bodies are on two different slides; `share` is then the first's. */
  readonly secondShare?: number;
  /** Witnesses at that moment, base axes. */
  readonly witness: Distance;
  /** States at which distances were measured: a measure of work. */
  readonly states: number;
}

export interface SweptQuery {
  /** Wanted upper - lower, m, > 0. */
  readonly tolerance: Metres;
  /** Distances above this need not be told exactly: `lower` is then at least the cutoff. Default Infinity. */
  readonly cutoff?: Metres;
  /** 1 for each pair to look at, indexed like the scene's pairs; default all. */
  readonly among?: Uint8Array;
  /**
   * As soon as a distance below this is found, the search ends: `upper` is then below it and `lower` tells nothing
   * (-Infinity). Default -Infinity. 0 saves the search for the deepest overlap.
   */
  readonly enough?: Metres;
  /**
   * The search ends after about so many states, also where `tolerance` is not reached yet: both bounds then hold as ever, but
   * may lie far apart. Default Infinity.
   */
  readonly states?: number;
}

/** Bodies of an arm and of what stands around it, and the pairs of them that matter, for questions about whole motions. */
export interface SweptScene {
  /** Bodies of pair k: pairs[2k] and pairs[2k + 1]. */
  readonly pairs: Int32Array;
  /**
   * Least signed distance of all pairs over the whole motion and every place along the slides, certified from both sides.
   * Of overlaps with a mesh only the sign is certified: how deep they are is told for one state, not searched for (see `distance`).
   * @throws ContractError if the motion gives values that are not finite or the tolerance is not above 0
   */
  minimum(motion: SweptMotion, query: SweptQuery): SweptMinimum;
  /**
   * Whether every pair keeps at least `margin` (m) during the whole motion and everywhere along the slides: true is certified.
   * False: a pair is nearer, or comes so near (within 0.1 µm of the margin) that it could not be certified; `pair`, `time` and
   * `share` then tell where.
   */
  clear(motion: SweptMotion, margin: Metres, among?: Uint8Array): boolean;
  /** Pair (-1 for none), time and share of the last `clear` that answered false. */
  readonly pair: number;
  readonly time: Seconds;
  readonly share: number;
  /** `minimum` while the arm stands still at joint values `q` and only the slides move. */
  stateMinimum(q: ArrayLike<number>, query: SweptQuery): SweptMinimum;
}
