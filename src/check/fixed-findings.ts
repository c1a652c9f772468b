/** Findings that need no motion: reach, load, grip, points, rate, and the cautions that every check carries. */
import type { Cell } from "../cell/model.ts";
import type { CycleRun } from "../cycle/index.ts";
import { toDegrees, toMm } from "../math/units.ts";
import type { MotionFailure } from "../motion/index.ts";
import type { VariantRuns } from "./cycle-report.ts";
import type { FindingList } from "./findings.ts";
import { distanceOf, type LoadSurvey } from "./payload.ts";
import type { ProofDepth } from "./proof/prove-runs.ts";
import type { CycleReport, ReachReport } from "./result.ts";
import { nameFor } from "./targets.ts";

/** Room to a joint limit below which a target gets a caution: of a turning joint, rad, and of a sliding one, m. */
const LITTLE_ROOM = (5 * Math.PI) / 180;
const LITTLE_ROOM_TO_SLIDE = 0.02;

/** A cell without a part has no routine run for it: that must not pass for a feasible one. */
export function addNothingRun(
  variants: readonly string[],
  runs: readonly CycleRun<MotionFailure>[],
  findings: FindingList,
): void {
  if (variants.length > 0) {
    if (runs.every((run) => run.activities.every(({ stepId }) => stepId === undefined)))
      findings.add(
        "nothing-run",
        "error",
        ["routines", "main"],
        "the routine main has no step to run, so no motion was checked and there is no cycle",
        "Write the steps of the routine, or run the routines that have them from main.",
      );
    return;
  }
  findings.add(
    "nothing-run",
    "error",
    ["parts"],
    "the cell states no part, so no routine was run and no motion checked",
    "State the parts that the cell handles under `parts`.",
  );
}

/** Poses and places that cannot be reached or only just; those that a failed motion has reported already are left out. */
export function addReachFindings(
  cell: Cell,
  reach: readonly ReachReport[],
  runs: ReadonlyMap<string, VariantRuns>,
  findings: FindingList,
): void {
  const reported = new Set<string>();
  for (const { nominal } of runs.values())
    for (const { outcome, steps } of nominal.moves) {
      const step = outcome.ok ? undefined : steps[outcome.step];
      if (step?.kind === "go") reported.add(nameFor(step.to.at, nominal.variant));
    }
  for (const entry of reach) {
    const name = /^[^,]*?(?=,| by |$)/.exec(entry.target)![0];
    const path = pathOfTarget(cell, name);
    if (!entry.reachable) {
      if (reported.has(name)) continue;
      const miss =
        entry.miss_m > 0
          ? `; the arm's nearest pose misses it by ${toMm(entry.miss_m).toFixed(1)} mm`
          : " inside the joint limits";
      findings.add(
        "unreachable",
        "error",
        path,
        `${entry.target} cannot be reached${miss}`,
        "Move it, the arm's base or the stand's height, or take it out of the file if nothing goes there.",
        entry.target,
      );
      continue;
    }
    const slides = cell.arm.joints.some((j) => j.name === entry.nearestJoint && j.kind === "prismatic");
    const room = entry.jointMargin_rad;
    if (room < (slides ? LITTLE_ROOM_TO_SLIDE : LITTLE_ROOM))
      findings.add(
        "little-joint-room",
        "caution",
        path,
        `at ${entry.target} the branch with the most room is ${slides ? `${toMm(room).toFixed(1)} mm` : `${toDegrees(room).toFixed(1)}°`} from a joint limit`,
        "Turn the tool about its axis or the arm about its base if the point may be touched up.",
        entry.target,
      );
  }
}

function pathOfTarget(cell: Cell, name: string): (string | number)[] {
  if (cell.poses.has(name)) return ["poses", name];
  const holder = cell.holders.get(name);
  if (holder?.kind === "device") {
    const [machine, device] = name.split(".") as [string, string];
    return ["machines", machine, "devices", device, "holds"];
  }
  return ["scene", holder?.kind === "nest" ? "nests" : "trays", name];
}

/** The load against what the arm's maker allows. */
export function addLoadFindings(cell: Cell, survey: LoadSurvey, findings: FindingList): void {
  const rated = cell.arm.ratedLoad;
  const { heaviest, farthest } = survey;
  if (heaviest === undefined || farthest === undefined) return;
  const path = ["arm", "rated load"];
  if (rated === undefined) {
    findings.add(
      "rated-load-not-stated",
      "caution",
      ["arm"],
      `the load at the flange is up to ${heaviest.mass.toFixed(2)} kg, but no rated load is stated to compare it with`,
      "State the rated load from the arm's data sheet.",
    );
    return;
  }
  const distance = distanceOf(farthest);
  if (heaviest.mass > rated.mass)
    findings.add(
      "rated-load-exceeded",
      "error",
      path,
      `gripper and parts weigh up to ${heaviest.mass.toFixed(2)} kg, the arm is rated for ${rated.mass.toFixed(2)} kg`,
      `Take ${(heaviest.mass - rated.mass).toFixed(2)} kg off the gripper or the part, or take a stronger arm.`,
    );
  else if (rated.distance !== undefined && farthest.mass * distance > rated.mass * rated.distance)
    findings.add(
      "load-too-far-out",
      "error",
      path,
      `the load of ${farthest.mass.toFixed(2)} kg has its centre ${toMm(distance).toFixed(0)} mm from the flange centre; the rated moment allows ${toMm((rated.mass * rated.distance) / farthest.mass).toFixed(0)} mm for it`,
      "Shorten the gripper or take a lighter one.",
    );
  survey.joints.forEach((joint, i) => {
    const name = cell.arm.joints[i]!.name;
    const moment = rated.moments?.[i];
    if (moment !== undefined && joint.moment > moment)
      findings.add(
        "rated-moment-exceeded",
        "error",
        path,
        `the load's static moment about ${name} reaches ${joint.moment.toFixed(1)} N m, rated are ${moment.toFixed(1)} N m`,
        "Bring the load's centre nearer to the axis, or take a stronger arm.",
        name,
      );
    const inertia = rated.inertias?.[i];
    if (inertia !== undefined && joint.inertia > inertia)
      findings.add(
        "rated-inertia-exceeded",
        "error",
        path,
        `the load's inertia about ${name} reaches ${joint.inertia.toFixed(3)} kg m², rated are ${inertia.toFixed(3)} kg m²`,
        "Bring the load's mass nearer to the axis, or take a stronger arm.",
        name,
      );
  });
}

/** The wanted rate against the rate of each variant. */
export function addRateFindings(cell: Cell, cycle: CycleReport | null, findings: FindingList): void {
  const target = cell.production?.target;
  if (target === undefined || cycle === null) return;
  const path = ["production", "target"];
  for (const variant of cycle.variants) {
    const bound = variant.machine_s > variant.robot_s ? "the machine" : "the arm";
    const wanted = `${Number(target.toFixed(2))} parts per hour are wanted (one every ${(3600 / target).toFixed(1)} s)`;
    if (variant.partsPerHour < target)
      findings.add(
        "rate-below-target",
        "error",
        path,
        `${wanted}; ${variant.variant} comes every ${variant.period_s.toFixed(1)} s, ${variant.partsPerHour.toFixed(1)} per hour`,
        `${(variant.period_s - 3600 / target).toFixed(1)} s are to be saved per part; ${bound} is busy longest (${Math.max(variant.machine_s, variant.robot_s).toFixed(1)} s). The steps with no slack are where a second saved is a second gained.`,
        variant.variant,
      );
    else if (3600 / variant.slowest_s < target)
      findings.add(
        "rate-below-target-when-slow",
        "warning",
        path,
        `${wanted}; with every device at its longest time ${variant.variant} comes every ${variant.slowest_s.toFixed(1)} s`,
        "The target holds only while doors and clamps keep to their mean times.",
        variant.variant,
      );
  }
}

/** What every check says, whatever the cell. */
export function addStandingCautions(findings: FindingList, proof: ProofDepth): void {
  findings.add(
    "no-risk-assessment",
    "caution",
    [],
    "this check is arithmetic on the numbers in the cell file; it says nothing about whether people are protected",
    "Have the risk assessment, guarding and safety functions done by licensed people after the codes in force where the cell stands, and run first at reduced speed.",
  );
  const left = {
    none: "the interlocks were not explored, neither as the cell should run nor under faults, stops and restarts",
    nominal:
      "the interlocks were explored as the cell should run, not under faults, stops and restarts; `millhand prove` does that",
    all: "hoses and cables, wear, what people do by hand and what the machine's own control does beyond the file were not computed",
  };
  findings.add(
    "not-computed",
    "caution",
    [],
    left[proof],
    "Run every path slowly with a hand on the stop first, real parts and hoses are not in the file; wire the machine's interlocks so that they hold without the arm's program.",
  );
}
