/** Inverse kinematics of an arm of a decomposable family: checks of doubtful solutions, least squares out of reach. */
import { identityPose, multiply34, type Pose } from "../../math/pose.ts";
import type { Arm } from "../model.ts";
import type { HomeAxes } from "./axes.ts";
import { Descent } from "./descent.ts";
import { FAMILY_SOLUTIONS } from "./family.ts";
import { FamilySource } from "./family-source.ts";
import { properGoal } from "./goal.ts";
import { nearestPose } from "./nearest-pose.ts";
import { EXACT, type InverseKinematics, type InverseResult, newResult, outOfReach } from "./result.ts";
import { dropRepeats } from "./rows.ts";
import type { Triple } from "./structure.ts";

export class ClosedForm implements InverseKinematics {
  readonly method: string;
  readonly complete = true;
  readonly maxSolutions = FAMILY_SOLUTIONS;
  private readonly source: FamilySource;
  private readonly goal = new Float64Array(12);
  private readonly row = new Float64Array(6);
  private readonly descent: Descent;
  private readonly proper = identityPose();

  constructor(
    private readonly arm: Arm,
    private readonly home: HomeAxes,
    triple: Triple,
  ) {
    this.source = new FamilySource(home, triple);
    this.descent = new Descent(arm);
    this.method = this.source.name;
  }

  result(): InverseResult {
    return newResult(FAMILY_SOLUTIONS, 6);
  }

  solve(pose: Pose, out: InverseResult, nearest = true): InverseResult {
    const baseFromFlange = properGoal(pose, this.proper);
    const { goal, source } = this;
    multiply34(baseFromFlange, this.home.flangeFromHome, goal);
    let count = source.seeds(goal, out.q);
    if (source.doubtful !== 0) count = this.settle(baseFromFlange, out.q, count, source.doubtful);
    out.count = count;
    out.exact = true;
    out.positionError = 0;
    out.rotationError = 0;
    if (count === 0 && !nearest) outOfReach(out);
    else if (count === 0) nearestPose(this.arm, this.descent, baseFromFlange, out);
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
