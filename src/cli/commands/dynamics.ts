/** `millhand dynamics`: states of motion in, joint torques out. */
import { createDynamics } from "../../arm/index.ts";
import { loadArmFile } from "../arm-file.ts";
import { type ExitStatus, UnusableInput } from "../exit-status.ts";
import type { LineWork } from "../json-lines.ts";
import { answerLines } from "../line-command.ts";
import { jsonNumbers, readNumbers } from "../line-values.ts";

export interface DynamicsOptions {
  readonly arm: string;
  /** In base axes, m/s²; undefined: that of the file. */
  readonly gravity: readonly [number, number, number] | undefined;
  readonly asDocument: boolean;
}

/** Answers every line of the standard input. @throws UnusableInput when the arm cannot be read or states no masses */
export async function dynamics(options: DynamicsOptions): Promise<ExitStatus> {
  const file = loadArmFile(options.arm);
  const { arm } = file;
  if (!arm.hasMasses)
    throw new UnusableInput(`${options.arm}: the arm states no masses for all of its links, so torques are not known`);
  const gravity = options.gravity ?? file.gravity;
  const { torque } = createDynamics(arm);
  const q = new Float64Array(arm.n);
  const qd = new Float64Array(arm.n);
  const qdd = new Float64Array(arm.n);
  const out = new Float64Array(arm.n);
  const work: LineWork = (record) => {
    const problem =
      readNumbers(record, "q", q, "joint values, rad") ??
      readNumbers(record, "qd", qd, "joint velocities, rad/s") ??
      readNumbers(record, "qdd", qdd, "joint accelerations, rad/s²");
    if (problem !== undefined) return problem;
    const text = jsonNumbers(torque(q, qd, qdd, gravity, undefined, out));
    return text === undefined
      ? { found: "a state beyond what can be computed", expected: "values of a real motion" }
      : `"torque":${text}`;
  };
  return answerLines(work, options.asDocument, file.note);
}
