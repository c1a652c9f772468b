/** Findings from the simulated runs: what the cycle met, motions that fail, and cautions about motions that succeed. */
import type { Arm } from "../arm/model.ts";
import type { Cell } from "../cell/model.ts";
import { stepsWithin } from "../cell/step-walk.ts";
import type { GoStep, PressStep } from "../cell/steps.ts";
import type { CycleProblem, CycleRun } from "../cycle/index.ts";
import type { MotionFailure, MotionNote } from "../motion/index.ts";
import type { VariantRuns } from "./cycle-report.ts";
import type { FindingList } from "./findings.ts";
import { movesMade } from "./mover.ts";
import { NEAR_SINGULAR } from "./reach.ts";

type Run = CycleRun<MotionFailure>;

/** Share of a torque limit above which a motion gets a caution. */
const HIGH_TORQUE = 0.95;

/** Adds everything that the runs of all variants show. */
export function addRunFindings(cell: Cell, runs: ReadonlyMap<string, VariantRuns>, findings: FindingList): void {
  for (const { nominal, slowest, fastest } of runs.values()) {
    addProblems(nominal, "", findings);
    addProblems(slowest, " (only when every device takes its longest time)", findings);
    addProblems(fastest, " (only when every device takes its shortest time)", findings);
    addMotionCautions(cell, nominal, findings);
  }
  addStepsNeverRun(cell, runs, findings);
}

function addProblems(run: Run, when: string, findings: FindingList): void {
  for (const problem of run.problems) {
    const failure = failureOf(run, problem);
    const code = failure === undefined ? problem.code : failure.kind.replaceAll(" ", "-");
    const message = failure?.message ?? problem.message;
    const mend = failure?.mend ?? problem.mend;
    findings.add(code, problem.severity, problem.path, `${message}${when}`, mend, problem.stepId);
  }
}

/** The failed motion behind a problem. */
function failureOf(run: Run, problem: CycleProblem): MotionFailure | undefined {
  if (problem.code !== "motion-failed") return undefined;
  for (const { outcome, steps } of run.moves)
    if (!outcome.ok && steps[Math.min(outcome.step, steps.length - 1)]?.id === problem.stepId) return outcome.failure;
  return undefined;
}

/** Whether the tool's path is prescribed, not only its end. */
const ownPath = (step: GoStep | PressStep): boolean => step.kind === "go" && step.by !== "joint";

const MEND_OF_NOTE: Readonly<Record<MotionNote["kind"], string>> = {
  "blend reduced":
    "Ask for a smaller blend, or move the neighbouring points further apart, if the path shown is not wanted.",
  "blend left out": "Leave the blend out, or let both neighbouring segments move the tool.",
  "arc is straight": "Move the point passed off that line, or write `by: line`.",
};

/** Cautions about motions that can be made: close to a singularity, close to a torque limit, blends that had to shrink. */
function addMotionCautions(cell: Cell, run: Run, findings: FindingList): void {
  for (const { steps, move } of movesMade([run])) {
    const { motion } = move;
    for (const note of motion.notes ?? []) {
      const step = steps[note.segment] ?? steps[0]!;
      findings.add(note.kind.replaceAll(" ", "-"), "caution", step.path, note.message, MEND_OF_NOTE[note.kind]);
    }
    // A joint-interpolated motion runs through a singularity without harm; only the tool's own paths suffer there.
    const near = steps.some(ownPath) ? motion.nearestSingularity : undefined;
    if (near !== undefined && Math.abs(near.measure) < NEAR_SINGULAR) {
      const step =
        steps[
          Math.max(
            0,
            motion.segmentEnds.findIndex((end) => near.time <= end + 1e-9),
          )
        ]!;
      if (ownPath(step))
        findings.add(
          "near-singularity",
          "caution",
          step.path,
          `${near.time.toFixed(2)} s into the motion the arm is close to its ${near.kind} singularity (measure ${Math.abs(near.measure).toFixed(3)}, 0 is singular)`,
          "Small changes of the poses can make a straight line fail here; choose another branch or move the tool a little if the poses will be touched up.",
        );
    }
    const shares = motion.torqueShare ?? [];
    const worst = shares.reduce((best, share, i) => (share > shares[best]! ? i : best), 0);
    if (shares.length > 0 && shares[worst]! > HIGH_TORQUE)
      findings.add(
        "torque-near-limit",
        "caution",
        steps[0]!.path,
        `${cell.arm.joints[worst]!.name} uses ${Math.round(100 * shares[worst]!)} % of its torque limit in this motion`,
        "The time holds for the masses stated; a heavier part or gripper makes the motion slower. Lower the speed if the arm should keep a reserve.",
      );
  }
}

/** Steps that no run came to have been neither timed nor checked: say so instead of passing them silently. */
function addStepsNeverRun(cell: Cell, runs: ReadonlyMap<string, VariantRuns>, findings: FindingList): void {
  const ran = new Set<string>();
  for (const paces of runs.values())
    for (const run of Object.values(paces))
      for (const activity of run.activities) if (activity.stepId !== undefined) ran.add(activity.stepId);
  for (const routine of cell.routines.values()) {
    const own = [...stepsWithin(routine.steps)].filter(
      (s) => s.kind !== "run" && s.kind !== "each" && s.kind !== "when",
    );
    const never = own.filter((s) => !ran.has(s.id));
    if (never.length === 0) continue;
    const first = never[0]!;
    const which = never.length === own.length ? "no step" : never.length === 1 ? "one step" : `${never.length} steps`;
    findings.add(
      "steps-never-run",
      "caution",
      never.length === own.length ? ["routines", routine.name] : first.path,
      never.length === own.length
        ? `${which} of ${routine.name} was run in the simulation, so its motions and times are not checked`
        : `${which} of ${routine.name} from ${first.id} on ${never.length === 1 ? "was" : "were"} never run in the simulation, so motions and times there are not checked`,
      "Where an error stops the routine before, mend that first; else let it come there, for instance by another constant signal, or try the motions slowly on site.",
    );
  }
}

/** Cautions about limits that the arm's description leaves out. */
export function addUnstatedLimits(cell: Cell, arm: Arm, findings: FindingList): void {
  const missing = (["acceleration", "jerk", "torque"] as const).filter((kind) =>
    arm[kind].some((limit) => limit === Number.POSITIVE_INFINITY),
  );
  if (missing.length > 0) {
    const names = cell.arm.joints
      .filter((j) => missing.some((kind) => j[kind] === Number.POSITIVE_INFINITY))
      .map((j) => j.name);
    findings.add(
      "limits-not-stated",
      "caution",
      ["arm"],
      `no ${missing.join(" or ")} limit is stated for ${names.join(", ")}: times are computed as if there were none and can be too short`,
      "State the limits from the arm's data sheet, or ask its maker.",
    );
  }
  const weightless = cell.arm.joints.filter((_, i) => arm.hasMasses && arm.mass[i] === 0).map((j) => j.name);
  if (weightless.length > 0)
    findings.add(
      "torques-unknown",
      "caution",
      ["arm"],
      `what ${weightless.join(", ")} ${weightless.length === 1 ? "moves is" : "move is"} stated to weigh 0 kg: joint torques come out too small`,
      "State the mass, or leave the link's masses out, so that torques count as unknown.",
    );
  if (!arm.hasMasses || cell.tool.inertia === undefined)
    findings.add(
      "torques-unknown",
      "caution",
      [arm.hasMasses ? "tool" : "arm"],
      `the mass of ${arm.hasMasses ? "the tool" : "at least one link of the arm"} is not stated, so joint torques are not known and not limited`,
      "State the masses, centres and inertias; without them a motion may ask for more torque than the arm has.",
    );
}
