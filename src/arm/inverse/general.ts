/**
 * Inverse kinematics of any arm of six turning joints by elimination: every real solution, up to 16 (Primrose 1986).
 *
 * The elimination may be read from any joint and in either direction; special geometries make some readings degenerate. At
 * creation the readings are tried on random joint positions of the arm itself, and those that find them are used. A goal that
 * troubles the chosen reading (singular or otherwise special) is looked at in the others, then with axes moved by about a
 * tenth of a millimetre, whose solutions are starts for Newton's method on the true arm. Every solution is polished on and
 * checked against forward kinematics.
 */
import { identityPose, multiply34, type Pose } from "../../math/pose.ts";
import { SeededRandom } from "../../math/seeded-random.ts";
import { smallestSingularValue } from "../../math/singular-values.ts";
import { forwardKinematics } from "../forward.ts";
import { geometricJacobian } from "../jacobian.ts";
import type { Arm } from "../model.ts";
import { type Axes, type HomeAxes, normalise, type Reading } from "./axes.ts";
import { Descent, reachOf } from "./descent.ts";
import { Elimination, MAX_SEEDS } from "./elimination.ts";
import { FamilySource, type SeedSource } from "./family-source.ts";
import { properGoal } from "./goal.ts";
import { nearestPose } from "./nearest-pose.ts";
import { EXACT, type InverseKinematics, type InverseResult, newResult, outOfReach } from "./result.ts";
import { dropRepeats, sameRow } from "./rows.ts";
import { EXACT_STRUCTURE, pairsOf, type Triple } from "./structure.ts";

/** Rows of a result: 16 isolated solutions, and room for representatives of singular poses. */
const ROWS = 24;
/** Random joint positions that a reading is tried on. */
const TRIALS = 10;
/** Relative change of the axes when no reading of the true ones works. */
const NUDGES = [1e-5, 1e-4, 1e-3];
/** Random starts when every reading is troubled by a goal. */
const RESTARTS = 80;
/** Departure (m or rad) from a closed form's structure up to which its solutions, polished, are taken to be all. */
const SLIGHT = 1e-5;

export class GeneralInverse implements InverseKinematics {
  readonly method: string;
  readonly complete = true;
  readonly maxSolutions = ROWS;
  private readonly family: FamilySource | undefined;
  /** Departure so small that the family's starts suffice unless two solutions are close. */
  private readonly slight: boolean;
  /** Chosen when first needed. */
  private eliminations: Elimination[] | undefined;
  /** All readings of the true axes and a few of moved ones, for goals that trouble the chosen reading; made when first needed. */
  private spares: Elimination[] | undefined;
  private readonly descent: Descent;
  private readonly proper = identityPose();
  /** Length that the elimination's equations are scaled by, m. */
  private readonly unit: number;
  private readonly goal = new Float64Array(12);
  private readonly starts = new Float64Array(6 * MAX_SEEDS);
  private readonly row = new Float64Array(6);
  private readonly twin = new Float64Array(6);
  private readonly random = new SeededRandom(1);
  private readonly jacobian = new Float64Array(36);
  private failed = false;

  /** @param near a structure that the axes nearly have; its closed form then gives starts as well */
  constructor(
    private readonly arm: Arm,
    private readonly home: HomeAxes,
    near: Triple | undefined,
  ) {
    this.descent = new Descent(arm);
    this.unit = reachOf(arm) / 3 || 1;
    this.family = near && new FamilySource(home, near);
    this.slight = near !== undefined && near.departure <= SLIGHT;
    if (!this.slight) this.eliminations = this.choose();
    const neighbours = [0, 1, 2, 3, 4].map((i) => [i, i + 1] as const);
    const pairs = pairsOf(home, neighbours, EXACT_STRUCTURE).join(", ") || "general axes";
    this.method = this.slight
      ? `nearly ${this.family!.name}, polished on the true axes`
      : `elimination to 16 solutions (${pairs})`;
  }

  result(): InverseResult {
    return newResult(ROWS, 6);
  }

  solve(pose: Pose, out: InverseResult, nearest = true): InverseResult {
    const baseFromFlange = properGoal(pose, this.proper);
    multiply34(baseFromFlange, this.home.flangeFromHome, this.goal);
    let count = 0;
    this.failed = false;
    if (this.family) count = this.collect(this.family, baseFromFlange, out.q, 0);
    if (!this.slight || this.failed || this.family!.doubtful !== 0 || count % 2 === 1) {
      this.eliminations ??= this.choose();
      let troubled = true;
      for (const source of this.eliminations) {
        count = this.collect(source, baseFromFlange, out.q, count);
        troubled &&= missesSome(source, count);
      }
      if (troubled) count = this.collectSpares(baseFromFlange, out.q, count);
    }
    if (count % 2 === 1) count = this.findTwin(baseFromFlange, out.q, count);
    out.count = count;
    out.exact = true;
    out.positionError = 0;
    out.rotationError = 0;
    if (count === 0 && !nearest) outOfReach(out);
    else if (count === 0) {
      nearestPose(this.arm, this.descent, baseFromFlange, out);
      // Reached after all: the goal is a special one, and there may be more.
      if (out.exact) out.count = this.collectSpares(baseFromFlange, out.q, 1);
    }
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
      if (!(descent.positionError <= EXACT && descent.rotationError <= EXACT)) {
        this.failed = true;
        continue;
      }
      for (let k = 0; k < 6; k++) q[6 * count + k] = row[k]!;
      count = dropRepeats(arm, q, count + 1);
    }
    return count;
  }

  /** Goes through the other readings until one is not troubled by the goal; as the last resort, random starts. */
  private collectSpares(pose: Pose, q: Float64Array, before: number): number {
    const unit = this.unit;
    this.spares ??= [
      ...READINGS.map((reading) => new Elimination(this.home, reading, unit)),
      ...READINGS.map((reading) => new Elimination(nudged(this.home, 1e-4 * unit, 1e-4), reading, unit)),
    ];
    let count = before;
    for (const spare of this.spares) {
      count = this.collect(spare, pose, q, count);
      if (!missesSome(spare, count)) return count;
    }
    // Nothing untroubled: restarts of a numeric search, as for arms without a complete method.
    const { row, random, descent, arm } = this;
    random.restart(4);
    for (let s = 0; s < RESTARTS && count < ROWS; s++) {
      for (let k = 0; k < 6; k++) row[k] = Math.PI * (2 * random.next() - 1);
      descent.minimise(pose, row, 60, false);
      if (!(descent.positionError <= EXACT && descent.rotationError <= EXACT)) continue;
      for (let k = 0; k < 6; k++) q[6 * count + k] = row[k]!;
      count = dropRepeats(arm, q, count + 1);
    }
    return count;
  }

  /**
   * Solutions come in pairs, so an odd number says that two nearly coincide and rounding hid one: it is looked for round the
   * most singular of those found.
   */
  private findTwin(pose: Pose, q: Float64Array, count: number): number {
    const { arm, descent, row, twin, random, jacobian } = this;
    let least = Number.POSITIVE_INFINITY;
    for (let i = 0; i < count; i++) {
      for (let k = 0; k < 6; k++) row[k] = q[6 * i + k]!;
      const measure = smallestSingularValue(geometricJacobian(arm, row, undefined, jacobian), 6, 6);
      if (measure < least) {
        least = measure;
        twin.set(row);
      }
    }
    random.restart(3);
    for (let size = 1e-5; size < 0.5 && count < ROWS; size *= 4) {
      for (let t = 0; t < 6; t++) {
        for (let k = 0; k < 6; k++) row[k] = twin[k]! + size * (2 * random.next() - 1);
        descent.polish(pose, row, 20);
        if (!(descent.positionError <= EXACT && descent.rotationError <= EXACT)) continue;
        for (let k = 0; k < 6; k++) q[6 * count + k] = row[k]!;
        if (dropRepeats(arm, q, count + 1) > count) return count + 1;
      }
    }
    return count;
  }

  /** The readings to use: one that finds every random joint position, or the few that come nearest to it. */
  private choose(): Elimination[] {
    const { unit } = this;
    let best: Rated[] = [];
    for (const nudge of [0, ...NUDGES]) {
      const axes = nudge === 0 ? this.home : nudged(this.home, nudge * unit, nudge);
      for (const reading of READINGS) {
        const one = this.rate(new Elimination(axes, reading, unit));
        if (one.missed === 0 && one.strays === 0) return [one.source];
        best.push(one);
      }
      best = best.sort((a, b) => a.missed - b.missed || a.strays - b.strays).slice(0, 3);
      if (best[0]!.missed === 0) break;
    }
    return best.map((r) => r.source);
  }

  /** How often a source misses a random joint position, or starts so far off that polishing had to search. */
  private rate(source: Elimination): Rated {
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

/** Whether an elimination leaves doubt that all solutions are among the `count` found so far. */
function missesSome(source: Elimination, count: number): boolean {
  return source.troubled || count < source.real || count % 2 === 1;
}

interface Rated {
  readonly source: Elimination;
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
