/** The closed form of a family, read from the right joint: solutions in joint order. */
import { type Axes, AxisReading } from "./axes.ts";
import { FAMILY_SOLUTIONS, type FamilySolver, TOUCHING } from "./family.ts";
import { ParallelAxesSolver } from "./parallel-axes.ts";
import { SphericalWristSolver } from "./spherical-wrist.ts";
import { EXACT_STRUCTURE, idealAxes, pairsOf, readingFor, type Triple } from "./structure.ts";

/** Gives joint values at, or near, all solutions of a goal. */
export interface SeedSource {
  /**
   * @param goal G of axes.ts, row-major 3 x 4   @param out receives rows of six joint values, rad
   * @returns the number of rows; negative when the source fails on this goal
   */
  seeds(goal: Float64Array, out: Float64Array): number;
}

export class FamilySource implements SeedSource {
  /** "spherical wrist (axes 4 5 6), axes 2 3 parallel". */
  readonly name: string;
  private readonly reading: AxisReading;
  private readonly solver: FamilySolver;
  private readonly angles = new Float64Array(6 * FAMILY_SOLUTIONS);

  /** @param triple may be inexact; the solutions are then those of the nearest exact axes */
  constructor(axes: Axes, triple: Triple) {
    const reading = readingFor(triple);
    const joint = new AxisReading(axes, reading).joint;
    this.reading = new AxisReading(idealAxes(axes, triple, joint), reading);
    this.solver = triple.kind === "meeting" ? new SphericalWristSolver() : new ParallelAxesSolver();
    if (triple.departure > EXACT_STRUCTURE) this.solver.slack = Math.max(TOUCHING, 100 * triple.departure);
    this.solver.setAxes(this.reading.axes);
    this.name = nameOf(axes, triple, joint);
  }

  /** Bit i set: row i of the last call wants a check against forward kinematics. */
  get doubtful(): number {
    return this.solver.doubtful;
  }

  seeds(goal: Float64Array, out: Float64Array): number {
    const { angles, reading, solver } = this;
    if (reading.aim(goal)) solver.setAxes(reading.axes);
    const count = solver.solve(reading.target, angles);
    const { joint } = reading;
    for (let at = 0; at < 6 * count; at += 6) {
      for (let k = 0; k < 6; k++) {
        const angle = angles[at + k]!;
        out[at + joint[k]!] = angle <= -Math.PI ? Math.PI : angle;
      }
    }
    return count;
  }
}

function nameOf(axes: Axes, triple: Triple, joint: ArrayLike<number>): string {
  const { first } = triple;
  const numbers = `axes ${first + 1} ${first + 2} ${first + 3}`;
  if (triple.kind === "parallel") return `three parallel axes (${numbers})`;
  const name = first === 3 ? "spherical wrist" : first === 0 ? "spherical shoulder" : "three axes through one point";
  const rest = [joint[0]!, joint[1]!, joint[2]!].sort((a, b) => a - b);
  const pairs: [number, number][] = [];
  for (let i = 0; i < 2; i++) if (rest[i + 1]! === rest[i]! + 1) pairs.push([rest[i]!, rest[i + 1]!]);
  return [`${name} (${numbers})`, ...pairsOf(axes, pairs, EXACT_STRUCTURE)].join(", ");
}
