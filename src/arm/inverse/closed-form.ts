/** Inverse kinematics of an arm of a decomposable family: readings, checks of doubtful solutions, least squares out of reach. */
import type { Pose } from "../../math/pose.ts";
import type { Arm } from "../model.ts";
import { AxisReading, type HomeAxes, multiply34 } from "./axes.ts";
import { Descent } from "./descent.ts";
import { FAMILY_SOLUTIONS, type FamilySolver } from "./family.ts";
import { nearestPose } from "./nearest-pose.ts";
import { ParallelAxesSolver } from "./parallel-axes.ts";
import { EXACT, type InverseKinematics, type InverseResult, newResult } from "./result.ts";
import { dropRepeats } from "./rows.ts";
import { SphericalWristSolver } from "./spherical-wrist.ts";
import { idealAxes, pairsOf, readingFor, type Triple } from "./structure.ts";

export class ClosedForm implements InverseKinematics {
  readonly method: string;
  readonly complete = true;
  readonly maxSolutions = FAMILY_SOLUTIONS;
  private readonly reading: AxisReading;
  private readonly solver: FamilySolver;
  private readonly goal = new Float64Array(12);
  private readonly angles = new Float64Array(6 * FAMILY_SOLUTIONS);
  private readonly row = new Float64Array(6);
  private readonly descent: Descent;

  constructor(
    private readonly arm: Arm,
    private readonly home: HomeAxes,
    triple: Triple,
  ) {
    const reading = readingFor(triple);
    const joint = new AxisReading(home, reading).joint;
    this.reading = new AxisReading(idealAxes(home, triple, joint), reading);
    this.solver = triple.kind === "meeting" ? new SphericalWristSolver() : new ParallelAxesSolver();
    this.solver.setAxes(this.reading.axes);
    this.descent = new Descent(arm);
    this.method = methodName(home, triple, joint);
  }

  result(): InverseResult {
    return newResult(FAMILY_SOLUTIONS, 6);
  }

  solve(baseFromFlange: Pose, out: InverseResult): InverseResult {
    const { goal, angles, reading, solver } = this;
    multiply34(baseFromFlange, this.home.flangeFromHome, goal);
    if (reading.aim(goal)) solver.setAxes(reading.axes);
    let count = solver.solve(reading.target, angles);
    const { q } = out;
    const joint = reading.joint;
    const j0 = joint[0]!,
      j1 = joint[1]!,
      j2 = joint[2]!,
      j3 = joint[3]!,
      j4 = joint[4]!,
      j5 = joint[5]!;
    for (let at = 0; at < 6 * count; at += 6) {
      q[at + j0] = angles[at]!;
      q[at + j1] = angles[at + 1]!;
      q[at + j2] = angles[at + 2]!;
      q[at + j3] = angles[at + 3]!;
      q[at + j4] = angles[at + 4]!;
      q[at + j5] = angles[at + 5]!;
    }
    if (solver.doubtful !== 0) count = this.settle(baseFromFlange, q, count, solver.doubtful);
    out.count = count;
    out.exact = true;
    out.positionError = 0;
    out.rotationError = 0;
    if (count === 0) nearestPose(this.arm, this.descent, baseFromFlange, out);
    return out;
  }

  /** Checks the doubtful rows against forward kinematics, polishes them where needed and drops what does not reach the pose. */
  private settle(pose: Pose, q: Float64Array, count: number, doubtful: number): number {
    const { row, descent } = this;
    let kept = 0;
    for (let i = 0; i < count; i++) {
      for (let k = 0; k < 6; k++) row[k] = q[6 * i + k]!;
      if (doubtful & (1 << i)) {
        descent.evaluate(pose, row);
        if (descent.positionError > 1e-12 || descent.rotationError > 1e-12) descent.polish(pose, row, 8);
        if (!(descent.positionError <= EXACT && descent.rotationError <= EXACT)) continue;
      }
      for (let k = 0; k < 6; k++) q[6 * kept + k] = row[k]!;
      kept++;
    }
    return dropRepeats(this.arm, q, kept);
  }
}

function methodName(home: HomeAxes, triple: Triple, joint: ArrayLike<number>): string {
  const { first } = triple;
  const axes = `axes ${first + 1} ${first + 2} ${first + 3}`;
  if (triple.kind === "parallel") return `three parallel axes (${axes})`;
  const name = first === 3 ? "spherical wrist" : first === 0 ? "spherical shoulder" : "three axes through one point";
  const rest = [joint[0]!, joint[1]!, joint[2]!].sort((a, b) => a - b);
  const pairs: [number, number][] = [];
  for (let i = 0; i < 2; i++) if (rest[i + 1]! === rest[i]! + 1) pairs.push([rest[i]!, rest[i + 1]!]);
  return [`${name} (${axes})`, ...pairsOf(home, pairs, 1e-11)].join(", ");
}
