/** Whether a part enters its place with the deviations that add up on the way: limits, worst case, and how probable it is. */
import { ContractError } from "../math/contract-error.ts";
import type { Metres, Radians } from "../math/units.ts";
import { type Deviation, type Distribution, type Sum, sumOf } from "./deviation.ts";
import { caughtError, enteringTilt, wedgingTilt } from "./insertion.ts";
import { RandomSource } from "./random.ts";

/** Sizes of a part and the hole, or the circle between open jaws, that it goes into. Lengths in m. */
export interface EntrySizes {
  readonly hole: Metres;
  readonly part: Metres;
  /** Deviation of each diameter either way; three standard deviations where normal. */
  readonly holeTolerance: Metres;
  readonly partTolerance: Metres;
  readonly distribution: Distribution;
  /** Width of the chamfer, across the way in. */
  readonly holeChamfer: Metres;
  readonly partChamfer: Metres;
  /** Undefined: not known, and then nothing is said about wedging. */
  readonly friction: number | undefined;
}

/** What is allowed with both diameters at their worst: the smallest hole and the thickest part, or as drawn. */
export interface EntryLimits {
  /** Lateral error that still enters, m, in any direction; below 0 nothing does. */
  readonly lateral: Metres;
  /** Lateral error that enters without touching a chamfer, m. */
  readonly clean: Metres;
  /** Tilt up to which the end goes in, rad. */
  readonly tilt: Radians;
  /** Tilt above which it can wedge at first; undefined: friction not known. */
  readonly wedging: Radians | undefined;
}

export function entryLimits(sizes: EntrySizes, at: "nominal" | "tightest"): EntryLimits {
  const off = at === "nominal" ? 0 : 1;
  const hole = sizes.hole - off * sizes.holeTolerance;
  const part = sizes.part + off * sizes.partTolerance;
  return {
    lateral: hole < part ? -1 : caughtError(hole, part, sizes.holeChamfer, sizes.partChamfer),
    clean: (hole - part) / 2,
    tilt: enteringTilt(hole, part),
    wedging: sizes.friction === undefined ? undefined : Math.max(0, wedgingTilt(hole, part, sizes.friction)),
  };
}

/** Lateral error and tilt, as lengths of two-dimensional errors, and whether such a part enters. */
export interface StackCase {
  readonly lateral: Metres;
  readonly tilt: Radians;
  readonly enters: boolean;
}

/**
 * Worst case: every deviation at its half width in both directions, the tightest diameters.
 * Root-sum-square: √Σ of squares in both directions, diameters as drawn with their tolerances in the sum (half of each, as
 * that is what a diameter adds to the lateral error).
 */
export function stackCase(
  sizes: EntrySizes,
  deviations: readonly Deviation[],
  by: "worst case" | "root sum square",
): StackCase {
  const [lateral, tilt] = [sumOf(deviations, "within"), sumOf(deviations, "tilt")];
  const worst = by === "worst case";
  const limits = entryLimits(sizes, worst ? "tightest" : "nominal");
  const e = Math.SQRT2 * (worst ? lateral.worst : lateral.rss);
  const t = Math.SQRT2 * (worst ? tilt.worst : tilt.rss);
  const room = worst ? limits.lateral : limits.lateral - Math.hypot(sizes.holeTolerance, sizes.partTolerance) / 2;
  return { lateral: e, tilt: t, enters: e <= room && t <= limits.tilt };
}

export interface EntryOdds {
  readonly insertions: number;
  readonly seed: number;
  /** Share that enters. */
  readonly enters: number;
  /** Share that enters without touching a chamfer. */
  readonly clean: number;
  /** Share that enters tilted beyond the wedging limit; undefined: friction not known. */
  readonly mayWedge: number | undefined;
  /** Standard error of `enters`; where all or none entered, that of the rule of three (95 % bound 3/n). */
  readonly error: number;
}

/**
 * Seeded trial insertions: both diameters, and the deviations across and in tilt, drawn each time.
 *
 * A part enters when its lateral error is at most (D - d)/2 plus both chamfers, and its tilt at most √(2 (D - d)/D). Normal
 * deviations are drawn as one, since their sum is normal again; the others one by one. The same seed gives the same figures.
 * @throws ContractError if `insertions` is not a whole number >= 1
 */
export function tryEntries(
  sizes: EntrySizes,
  deviations: readonly Deviation[],
  insertions: number,
  seed: number,
): EntryOdds {
  if (!(Number.isInteger(insertions) && insertions >= 1))
    throw new ContractError(`tryEntries: insertions must be a whole number >= 1, got ${insertions}`);
  const random = new RandomSource(seed);
  const normal = deviations.filter((d) => d.distribution === "normal");
  const others = deviations.filter((d) => d.distribution !== "normal");
  const lateralSigma = sumOf(normal, "within").sigma;
  const tiltSigma = sumOf(normal, "tilt").sigma;
  const within = Float64Array.from(others, (d) => d.within);
  const tilts = Float64Array.from(others, (d) => d.tilt);
  const triangular = Uint8Array.from(others, (d) => (d.distribution === "triangular" ? 1 : 0));
  const tilted = tiltSigma > 0 || tilts.some((t) => t > 0);
  const { hole, part, holeTolerance, partTolerance, holeChamfer, partChamfer, friction } = sizes;
  const draw = drawFrom(sizes.distribution, random);
  const chamfers = holeChamfer + partChamfer;

  let enters = 0;
  let clean = 0;
  let wedge = 0;
  for (let k = 0; k < insertions; k++) {
    const bore = holeTolerance > 0 ? hole + holeTolerance * draw() : hole;
    const peg = partTolerance > 0 ? part + partTolerance * draw() : part;
    let x = 0;
    let y = 0;
    if (lateralSigma > 0) {
      x = lateralSigma * random.normal();
      y = lateralSigma * random.normal();
    }
    let a = 0;
    let b = 0;
    if (tiltSigma > 0) {
      a = tiltSigma * random.normal();
      b = tiltSigma * random.normal();
    }
    for (let i = 0; i < within.length; i++) {
      const peaked = triangular[i] === 1;
      const w = within[i]!;
      if (w > 0) {
        x += w * flat(random, peaked);
        y += w * flat(random, peaked);
      }
      const t = tilts[i]!;
      if (t > 0) {
        a += t * flat(random, peaked);
        b += t * flat(random, peaked);
      }
    }
    const gap = bore - peg;
    if (gap < 0) continue;
    const room = gap / 2 + chamfers;
    const off = x * x + y * y;
    if (off > room * room) continue;
    const tilt = a * a + b * b;
    const ratio = gap / bore;
    if (tilted && tilt > 2 * ratio) continue;
    enters++;
    if (off <= (gap * gap) / 4) clean++;
    if (friction !== undefined && tilt > (ratio / friction) ** 2) wedge++;
  }
  const share = enters / insertions;
  return {
    insertions,
    seed,
    enters: share,
    clean: clean / insertions,
    mayWedge: friction === undefined ? undefined : wedge / insertions,
    error: share === 0 || share === 1 ? 3 / insertions : Math.sqrt((share * (1 - share)) / insertions),
  };
}

/** In [-1, 1]: uniform, or peaked as the mean of two uniform ones. */
function flat(random: RandomSource, peaked: boolean): number {
  return peaked ? random.uniform() + random.uniform() - 1 : 2 * random.uniform() - 1;
}

/** A deviation within ±1 (normal: three standard deviations). */
function drawFrom(distribution: Distribution, random: RandomSource): () => number {
  if (distribution === "normal") return () => random.normal() / 3;
  const peaked = distribution === "triangular";
  return () => flat(random, peaked);
}

/**
 * Share within a limit (m, or rad of tilt) when all deviations are normal and the diameters exact: 1 - exp(-R² / (2 σ²)).
 * @source distribution of the length of a two-dimensional normal error (Rayleigh 1880)
 */
export function normalEntry(limit: number, across: Sum): number {
  if (limit < 0) return 0;
  if (across.sigma === 0) return 1;
  return -Math.expm1(-(limit * limit) / (2 * across.sigma ** 2));
}
