/** What a cell file says about holding parts and putting them into their places. */
import type { Metres, Newtons, Radians } from "../math/units.ts";

export interface Handling {
  /** Of grip forces, >= 1. */
  readonly safetyFactor?: number;
  /** Least room per side between an open jaw and the largest part. */
  readonly jawRoom?: Metres;
  /** Trial insertions, and their seed. */
  readonly insertions?: number;
  readonly seed?: number;
  /** Deviations between part and place, by name: "tray", "jaws", "tcp", "frame" … */
  readonly deviations: ReadonlyMap<string, StatedDeviation>;
  /** What parts go into, by holder. */
  readonly fits: ReadonlyMap<string, Fit>;
}

/** A deviation either way, in each direction across the way in and along it. */
export interface StatedDeviation {
  /** Half the width; three standard deviations where normal. */
  readonly within: Metres;
  /** Tilt about each direction across, rad. */
  readonly tilt: Radians;
  readonly distribution: "normal" | "uniform" | "triangular";
  /** Holders in which it acts; empty: all. */
  readonly at: readonly string[];
}

export interface Fit {
  /** Diameter of the hole, or of the circle between open jaws. */
  readonly bore: Metres;
  readonly tolerance?: Metres;
  /** Width of the chamfer across the way in. */
  readonly chamfer?: Metres;
  /** How deep the part goes in. */
  readonly depth?: Metres;
  readonly friction?: number;
  /** Diameter of the part where it enters; undefined: that of its cylinder. */
  readonly diameter?: Metres;
  readonly partChamfer?: Metres;
  /** Largest force that stop and jaws may be pushed with. */
  readonly pushLimit?: Newtons;
}
