/** `millhand fk`: joint values in, poses out. */
import { forwardKinematics } from "../../arm/index.ts";
import { compose, identityPose } from "../../math/pose.ts";
import { loadArmFile, toolFrame } from "../arm-file.ts";
import type { ExitStatus } from "../exit-status.ts";
import type { LineWork } from "../json-lines.ts";
import { answerLines } from "../line-command.ts";
import { jsonNumbers, readNumbers } from "../line-values.ts";

export interface FkOptions {
  readonly arm: string;
  /** True: the first gripper. */
  readonly tool: string | true | undefined;
  readonly asDocument: boolean;
}

/** Answers every line of the standard input. @throws UnusableInput when the arm cannot be read */
export async function fk(options: FkOptions): Promise<ExitStatus> {
  const file = loadArmFile(options.arm);
  const { arm } = file;
  const flangeFromTcp = options.tool === undefined ? undefined : toolFrame(file, options.tool);
  const q = new Float64Array(arm.n);
  const pose = identityPose();
  const shape = `joint values of ${arm.n} joints, rad`;
  const work: LineWork = (record) => {
    const problem = readNumbers(record, "q", q, shape);
    if (problem !== undefined) return problem;
    forwardKinematics(arm, q, pose);
    if (flangeFromTcp !== undefined) compose(pose, flangeFromTcp, pose);
    const text = jsonNumbers(pose);
    return text === undefined ? { found: "q beyond what can be computed", expected: "joint values" } : `"pose":${text}`;
  };
  return answerLines(work, options.asDocument, file.note);
}
