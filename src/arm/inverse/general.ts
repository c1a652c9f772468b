/**
 * Inverse kinematics of any arm of six turning joints by elimination: every real solution, up to 16 (Primrose 1986).
 *
 * The elimination may be read from any joint and in either direction; special geometries make some readings degenerate. At
 * creation the readings are tried on random joint positions of the arm itself, and those that find them are used. Should all
 * be degenerate, axes moved by a tenth of a millimetre or so give the starts, and Newton's method on the true arm the
 * solutions. Every solution is polished on and checked against forward kinematics.
 */
import { identityPose, type Pose } from "../../math/pose.ts";
import { forwardKinematics } from "../forward.ts";
import type { Arm } from "../model.ts";
import { type Axes, type HomeAxes, multiply34, normalise, type Reading } from "./axes.ts";
import { Descent, reachOf } from "./descent.ts";
import { Elimination, MAX_SEEDS } from "./elimination.ts";
import { nearestPose } from "./nearest-pose.ts";
import { EXACT, type InverseKinematics, type InverseResult, newResult } from "./result.ts";
import { dropRepeats, sameRow } from "./rows.ts";
import { SeededRandom } from "./seeded-random.ts";

/** Rows of a result: 16 isolated solutions, and room for representatives of singular poses. */
const ROWS = 24;
/** Random joint positions that a reading is tried on. */
const TRIALS = 10;
/** Relative change of the axes when no reading of the true ones works. */
const NUDGES = [1e-5, 1e-4, 1e-3];

/** Gives starts near all solutions of a goal. */
export interface SeedSource {
  /** Writes rows of six joint values to `out` (MAX_SEEDS rows); negative when it cannot. */
  seeds(goal: Float64Array, out: Float64Array): number;
}

export class GeneralInverse implements InverseKinematics {
  readonly method: string;
  readonly complete = true;
  readonly maxSolutions = ROWS;
  private readonly sources: SeedSource[];
  private readonly descent: Descent;
  private readonly goal = new Float64Array(12);
  private readonly starts = new Float64Array(6 * MAX_SEEDS);
  private readonly row = new Float64Array(6);

  /**
   * @param also further sources of starts, used beside the elimination
   * @param structure words for the pairs of axes that are special, for `method`
   */
  constructor(
    private readonly arm: Arm,
    private readonly home: HomeAxes,
    also: readonly SeedSource[],
    structure: string,
  ) {
    this.descent = new Descent(arm);
    this.sources = [...also];
    const chosen = this.choose();
    this.sources.push(...chosen.sources);
    this.method = `elimination to 16 solutions (${structure || "general axes"}${chosen.nudged ? ", starts from moved axes" : ""})`;
  }

  result(): InverseResult {
    return newResult(ROWS, 6);
  }

  solve(baseFromFlange: Pose, out: InverseResult): InverseResult {
    multiply34(baseFromFlange, this.home.flangeFromHome, this.goal);
    let count = 0;
    for (const source of this.sources) count = this.collect(source, baseFromFlange, out.q, count);
    out.count = count;
    out.exact = true;
    out.positionError = 0;
    out.rotationError = 0;
    if (count === 0) nearestPose(this.arm, this.descent, baseFromFlange, out);
    return out;
  }

  /** Adds to q the polished starts of one source that reach the pose and are not there yet. */
  private collect(source: SeedSource, pose: Pose, q: Float64Array, before: number): number {
    const { starts, row, descent, arm, goal } = this;
    const found = source.seeds(goal, starts);
    let count = before;
    for (let i = 0; i < found && count < ROWS; i++) {
      for (let k = 0; k < 6; k++) row[k] = starts[6 * i + k]!;
      descent.polish(pose, row, 12);
      if (!(descent.positionError <= EXACT && descent.rotationError <= EXACT)) {
        descent.minimise(pose, row, 12, false);
        descent.polish(pose, row, 6);
      }
      if (!(descent.positionError <= EXACT && descent.rotationError <= EXACT)) continue;
      for (let k = 0; k < 6; k++) q[6 * count + k] = row[k]!;
      count = dropRepeats(arm, q, count + 1);
    }
    return count;
  }

  /** The readings to use: the one that finds every random joint position, or a few that do so together. */
  private choose(): { readonly sources: SeedSource[]; readonly nudged: boolean } {
    const unit = reachOf(this.arm) / 3 || 1;
    let best: Rated[] = [];
    for (const nudge of [0, ...NUDGES]) {
      const axes = nudge === 0 ? this.home : nudged(this.home, nudge * unit, nudge);
      const rated: Rated[] = [];
      for (const reading of READINGS) {
        const one = this.rate(new Elimination(axes, reading, unit));
        if (one.missed === 0 && one.strays === 0) return { sources: [one.source], nudged: nudge > 0 };
        rated.push(one);
      }
      rated.sort((a, b) => a.missed - b.missed || a.strays - b.strays);
      best = [...best, ...rated.slice(0, 2)].sort((a, b) => a.missed - b.missed || a.strays - b.strays);
      if (best[0]!.missed === 0) break;
    }
    return { sources: best.slice(0, best[0]!.missed === 0 ? 1 : 3).map((r) => r.source), nudged: true };
  }

  /** How often a source misses a random joint position, or starts so far off that polishing had to search. */
  private rate(source: SeedSource): Rated {
    const { arm, home, goal, row } = this;
    const random = new SeededRandom(20);
    const pose = identityPose();
    const q = new Float64Array(6);
    const rows = new Float64Array(6 * ROWS);
    let missed = 0,
      strays = 0;
    for (let t = 0; t < TRIALS; t++) {
      for (let k = 0; k < 6; k++) q[k] = Math.PI * (2 * random.next() - 1);
      forwardKinematics(arm, q, pose);
      multiply34(pose, home.flangeFromHome, goal);
      const count = this.collect(source, pose, rows, 0);
      let hit = false;
      for (let i = 0; i < count && !hit; i++) hit = sameRow(arm, rows, 6 * i, q, 0, 1e-5);
      if (!hit) missed++;
      let near = false;
      const found = source.seeds(goal, this.starts);
      for (let i = 0; i < found && !near; i++) near = sameRow(arm, this.starts, 6 * i, q, 0, 1e-2);
      if (!near) strays++;
      if (missed > 2) break;
    }
    row.fill(0);
    return { source, missed, strays };
  }
}

interface Rated {
  readonly source: SeedSource;
  readonly missed: number;
  readonly strays: number;
}

const READINGS: Reading[] = [];
for (const shift of [0, 1, 2, 3, 4, 5]) for (const reversed of [false, true]) READINGS.push({ shift, reversed });

/** The axes moved and turned a little, each differently. */
function nudged(axes: Axes, distance: number, angle: number): Axes {
  const random = new SeededRandom(6);
  const h = Float64Array.from(axes.h);
  const p = Float64Array.from(axes.p);
  for (let i = 0; i < 18; i++) {
    h[i]! += angle * (2 * random.next() - 1);
    p[i]! += distance * (2 * random.next() - 1);
  }
  for (let i = 0; i < 18; i += 3) normalise(h, i);
  return { h, p };
}
