/** `millhand ik`: poses in, every branch inside the joint limits out. */
import { createInverse, numericInverse, withinLimits } from "../../arm/index.ts";
import { compose, identityPose, invert } from "../../math/pose.ts";
import { loadArmFile, middleOfRanges, toolFrame } from "../arm-file.ts";
import type { ExitStatus } from "../exit-status.ts";
import type { LineWork } from "../json-lines.ts";
import { answerLines } from "../line-command.ts";
import { readRigidPose } from "../line-values.ts";

export interface IkOptions {
  readonly arm: string;
  /** True: the first gripper. */
  readonly tool: string | true | undefined;
  readonly allTurns: boolean;
  readonly asDocument: boolean;
}

/** Answers every line of the standard input. @throws UnusableInput when the arm cannot be read */
export async function ik(options: IkOptions): Promise<ExitStatus> {
  const file = loadArmFile(options.arm);
  const { arm } = file;
  const tcpFromFlange = options.tool === undefined ? undefined : invert(toolFrame(file, options.tool));
  const inverse = createInverse(arm);
  if (!inverse.complete)
    process.stderr.write(`millhand: ${arm.name}: branches may be missing; method: ${inverse.method}\n`);
  const result = inverse.result();
  const pose = identityPose();
  const middle = middleOfRanges(arm);
  const { allTurns } = options;
  const work: LineWork = (record) => {
    const problem = readRigidPose(record, "pose", pose);
    if (problem !== undefined) return problem;
    if (tcpFromFlange !== undefined) compose(pose, tcpFromFlange, pose);
    const rows = withinLimits(arm, inverse.solve(pose, result), { allTurns });
    if (rows.length > 0) return `"solutions":[${rows.map((row) => `[${row.join(",")}]`).join(",")}]`;
    const nearest = numericInverse(arm, pose, middle);
    const q = `[${nearest.q.join(",")}]`;
    // The search within the limits can meet a pose that the search for all branches missed where that one is not complete.
    if (nearest.reached) return `"solutions":[${q}]`;
    const reason = result.exact ? "every branch is outside the joint limits" : "out of reach";
    return `"solutions":[],"reason":"${reason}","leastSquares":{"q":${q},"position_m":${nearest.positionError},"rotation_rad":${nearest.rotationError}}`;
  };
  return answerLines(work, options.asDocument, file.note);
}
