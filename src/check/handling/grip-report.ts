/** What is told of every grip: forces needed and given, moments on the jaws, and whether they open wide enough. */
import type { Cell, Grip, Gripper, Part } from "../../cell/model.ts";
import { openingRoom } from "../../handling/index.ts";
import type { GripReport } from "../result.ts";
import { type GripLoads, type GripSurvey, type LoadPeak, type StageLoads, USUAL_SAFETY_FACTOR } from "./grip-survey.ts";
import type { GripLoadReport, GripSizing, StageGripReport } from "./report.ts";

/** Room per side between an open jaw and the largest part. Common practice; no source. */
const USUAL_JAW_ROOM = 0.001;
/** Friction above this is more than metal jaws give (handbook values for dry steel are 0.1 to 0.2, soft pads up to about 0.8). */
export const IMPROBABLE_FRICTION = 0.8;

export function gripReports(cell: Cell, survey: GripSurvey): GripReport[] {
  return survey.grips.map((loads) => reportOf(cell, loads, survey));
}

function reportOf(cell: Cell, loads: GripLoads, { stop }: GripSurvey): GripReport {
  const { gripper, part, grip, stages } = loads;
  const unknown = stages.some(({ model }) => model === undefined);
  const motion = worst(stages, "motion")!;
  const braking = worst(stages, "stop");
  const motionReport = loadReport(motion.loads, motion.peak, unknown);
  const stopReport =
    stop === undefined || braking === undefined ? null : loadReport(braking.loads, braking.peak, unknown);
  const needed = unknown ? null : motionReport.needed_N!;
  const most = needed === null ? null : Math.max(needed, stopReport?.needed_N ?? 0);
  const available = gripper.force ?? null;
  const model = stages.find((s) => s.model !== undefined)?.model;
  const jaw = stages.map((s) => s.jaw!).reduce((a, b) => (b.value > a.value ? b : a));
  const lever = Math.max(...[...loads.levers.values()].map(([x, y, z]) => Math.hypot(x, y, z)));
  const sizing: GripSizing = {
    method: unknown ? null : model!.name,
    formula: unknown ? null : model!.formula,
    safetyFactor: cell.handling?.safetyFactor ?? USUAL_SAFETY_FACTOR,
    safetyFactorFrom: cell.handling?.safetyFactor === undefined ? "default" : "stated",
    stages: stages.map((s) => stageReport(s, stop !== undefined)),
    motion: motionReport,
    stop: stopReport && { ...stopReport, by: stop!.by },
    margin: most === null || available === null ? null : most === 0 ? null : available / most,
    worst: needed === null ? null : (stopReport?.needed_N ?? 0) > needed ? "stop" : "motion",
    jawMoment: {
      ...jaw.moment,
      value_Nm: jaw.value,
      rated_Nm: gripper.jawMoment ?? null,
      turning_Nm: jaw.turning,
      lever_m: lever,
      leverFrom: gripper.fingerLength === undefined ? "tool centre point" : "jaw guides",
    },
    opening: openingOf(cell, gripper, part, grip),
  };
  return {
    gripper: gripper.name,
    part: part.name,
    grip: grip.name,
    needed_N: needed,
    available_N: available,
    acceleration_mps2: Math.max(...stages.map((s) => s.acceleration)),
    cautions: cautionsOf(loads, sizing),
    sizing,
  };
}

function worst(
  stages: readonly StageLoads[],
  which: "motion" | "stop",
): { loads: StageLoads; peak: LoadPeak } | undefined {
  let found: { loads: StageLoads; peak: LoadPeak } | undefined;
  for (const loads of stages) {
    const peak = loads[which];
    if (peak !== undefined && (found === undefined || peak.rank > found.peak.rank)) found = { loads, peak };
  }
  return found;
}

function loadReport(loads: StageLoads, peak: LoadPeak, unknown: boolean): GripLoadReport {
  return {
    ...peak.moment,
    needed_N: unknown ? null : peak.rank,
    load_N: peak.load,
    acceleration_mps2: peak.acceleration,
    stage: loads.stage.name,
    decides: unknown ? null : loads.model!.decides(...peak.load),
  };
}

function stageReport(loads: StageLoads, stops: boolean): StageGripReport {
  const { stage, friction, model, motion, stop } = loads;
  return {
    stage: stage.name,
    mass_kg: stage.inertia.mass,
    friction: friction.value ?? null,
    frictionFrom: friction.from,
    motion_N: model === undefined ? null : (motion?.rank ?? null),
    stop_N: model === undefined || !stops ? null : (stop?.rank ?? null),
  };
}

function openingOf(cell: Cell, gripper: Gripper, part: Part, grip: Grip): GripSizing["opening"] {
  const { opening, stroke } = gripper;
  const { width } = grip;
  if (opening === undefined || stroke === undefined || width === undefined) return null;
  const side = grip.side ?? "outside";
  const tolerance = part.tolerance ?? 0;
  const { release, hold } = openingRoom({ opening, stroke, side }, width, tolerance);
  return {
    width_m: width,
    tolerance_m: tolerance,
    side,
    release_m: release,
    required_m: cell.handling?.jawRoom ?? USUAL_JAW_ROOM,
    hold_m: hold,
  };
}

function cautionsOf({ gripper, part, grip, stages }: GripLoads, sizing: GripSizing): string[] {
  const cautions: string[] = [];
  if (grip.way === "form") cautions.push("held by form fit: the strength of the ledge is not computed");
  else if (sizing.method === null) cautions.push("no friction is stated, so the force needed is unknowable");
  else {
    cautions.push("measure the friction of the real, coolant-wet pair");
    const wet = stages.filter((s) => s.friction.dryForWet);
    if (wet.length > 0)
      cautions.push(
        `no oily friction is stated: ${wet.map((s) => s.stage.name).join(" and ")} is taken to hold as well as raw`,
      );
    const high = stages.find((s) => (s.friction.value ?? 0) > IMPROBABLE_FRICTION);
    if (high !== undefined)
      cautions.push(`a friction of ${high.friction.value} is more than jaws usually have: measure it`);
  }
  if (sizing.safetyFactorFrom === "default")
    cautions.push(`safety factor ${sizing.safetyFactor} taken: none is stated under handling`);
  if (sizing.stop === null) cautions.push("no stop computed: state joint accelerations or a stopping time");
  if (gripper.jawMoment === undefined)
    cautions.push("no jaw moment is stated, so whether the jaws' guides bear the part is unknowable");
  else if (gripper.fingerLength === undefined)
    cautions.push("no finger length is stated: the lever is counted from the tool centre point, which is too short");
  if (sizing.opening === null) {
    const missing = [
      gripper.opening === undefined && "opening",
      gripper.stroke === undefined && "stroke",
      grip.width === undefined && "width of the grip",
    ].filter((word) => word !== false);
    cautions.push(`no ${missing.join(", ")} stated, so whether the jaws open wide enough is unknowable`);
  } else if (part.tolerance === undefined)
    cautions.push("no tolerance of the part is stated: its width is taken as exact");
  if (grip.side === undefined) cautions.push("gripped from outside, as nothing else is stated");
  else if (grip.side === "inside")
    cautions.push("the stated force is taken for spreading as well: makers state both directions");
  if (sizing.jawMoment.turning_Nm > 0.05)
    cautions.push(
      `the part wants to turn about the line from jaw to jaw with ${sizing.jawMoment.turning_Nm.toFixed(2)} N m: only wide contact faces take that`,
    );
  return cautions;
}
