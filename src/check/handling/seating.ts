/** How parts are seated: the push, what it pushes against, and whether the part enters its place with the deviations on the way. */
import { forwardKinematics } from "../../arm/index.ts";
import type { Arm } from "../../arm/model.ts";
import type { Cell } from "../../cell/model.ts";
import type { PressStep } from "../../cell/steps.ts";
import type { CycleRun, JawRecord, MoveRecord } from "../../cycle/index.ts";
import { jamming, sumOf, twoPointTilt } from "../../handling/index.ts";
import { compose, invert, type Pose } from "../../math/pose.ts";
import type { Metres } from "../../math/units.ts";
import type { MotionFailure } from "../../motion/index.ts";
import { activeTcp, carriedLoad } from "../load.ts";
import { gravityInBase } from "../mover.ts";
import { pressLimit } from "../press.ts";
import { tcpOf } from "../targets.ts";
import { deviationsAt, fitReport, missingDeviations, type PlaceFit, placeFit } from "./fit.ts";
import { frictionOf } from "./friction.ts";
import type { PressReport, SeatingReport } from "./report.ts";

/** One entry for each holder and part that is left in it, in the order first met. */
export function seatingReports(cell: Cell, arm: Arm, runs: readonly CycleRun<MotionFailure>[]): SeatingReport[] {
  const reports = new Map<string, SeatingReport>();
  for (const run of runs)
    for (const jaw of run.jaws) {
      if (jaw.step.kind !== "free") continue;
      const key = `${jaw.holder}|${jaw.part}|${jaw.step.gripper}`;
      if (!reports.has(key)) reports.set(key, seatingOf(cell, arm, run, jaw));
    }
  return [...reports.values()];
}

function seatingOf(cell: Cell, arm: Arm, run: CycleRun<MotionFailure>, jaw: JawRecord): SeatingReport {
  const { holder, part } = jaw;
  const placed = placeFit(cell, holder, part);
  const before = run.moves[jaw.after];
  const press = before?.kind === "press" ? pressOf(cell, arm, before, jaw, placed) : null;
  const fit = placed.ok ? fitReport(cell, holder, placed) : null;
  return {
    holder,
    part,
    gripper: jaw.step.gripper,
    step: jaw.step.id,
    press,
    fit,
    cautions: cautionsOf(cell, holder, placed, press),
  };
}

function pressOf(
  cell: Cell,
  arm: Arm,
  move: MoveRecord<MotionFailure>,
  jaw: JawRecord,
  placed: PlaceFit,
): PressReport | null {
  const step = move.steps[0] as PressStep;
  const { context, outcome } = move;
  const held = context.held.get(context.gripper);
  const q = outcome.ok ? outcome.end : context.q;
  const push = {
    q,
    flangeFromGripper: tcpOf(cell, context.gripper),
    flangeFromPoint: activeTcp(cell, context.gripper, context.held),
  };
  const limit = pressLimit(arm, push, gravityInBase(cell), carriedLoad(cell, context.held));
  const worldFromPlace = cell.holders.get(jaw.holder)?.places[jaw.place]?.worldFromPlace;
  const line = worldFromPlace && lineOfPush(cell, arm, q, push.flangeFromGripper, worldFromPlace);
  const deviations = deviationsAt(cell, jaw.holder);
  const jam = placed.ok && line !== undefined ? jammingOf(cell, jaw.holder, placed, line, step.force) : undefined;
  return {
    step: step.id,
    force_N: step.force,
    time_s: step.time,
    speed_mps: step.speed,
    expect_m: step.expect,
    travel_m: step.travel,
    contact_s: step.expect / step.speed,
    longest_s: step.travel / step.speed + step.time,
    tilt_rad: line?.tilt ?? null,
    offset_m: line?.offset ?? null,
    armLimit_N: limit === undefined || !Number.isFinite(limit.force) ? null : Math.max(0, limit.force),
    armJoint: limit === undefined || limit.joint < 0 ? null : arm.jointNames[limit.joint]!,
    slip_N: held === undefined ? null : slipForce(cell, context.gripper, held),
    pushLimit_N: cell.handling?.fits.get(jaw.holder)?.pushLimit ?? null,
    jamming: jam?.use ?? null,
    jammingBy: jam?.by ?? null,
    along_m: sumOf(deviations, "within").worst,
  };
}

/** Force along the axis of the gripper at which friction lets the part slip: n µ F (V-jaws: / sin(α/2)). */
function slipForce(
  cell: Cell,
  name: string,
  held: { readonly part: string; readonly grip: string; readonly stage: string },
): number | null {
  const gripper = cell.tool.grippers.get(name);
  const part = cell.parts.get(held.part);
  const grip = part?.grips.get(held.grip);
  if (gripper?.force === undefined || part === undefined || grip === undefined || grip.way === "form") return null;
  const { value } = frictionOf(part, held.stage, grip, gripper);
  if (value === undefined) return null;
  return (gripper.jaws * value * gripper.force) / (gripper.vAngle === undefined ? 1 : Math.sin(gripper.vAngle / 2));
}

interface PushLine {
  /** Between the push and the way into the place (against its z axis), rad. */
  readonly tilt: number;
  /** Distance of the line through the tool centre point from the place's origin, across its z axis, m. */
  readonly offset: Metres;
}

function lineOfPush(cell: Cell, arm: Arm, q: Float64Array, flangeFromGripper: Pose, worldFromPlace: Pose): PushLine {
  const worldFromFlange = compose(cell.worldFromBase, forwardKinematics(arm, q, new Float64Array(16)));
  const placeFromTool = compose(invert(worldFromPlace), compose(worldFromFlange, flangeFromGripper));
  const [x, y, z] = [placeFromTool[2]!, placeFromTool[6]!, placeFromTool[10]!];
  return {
    tilt: Math.atan2(Math.hypot(x, y), -z),
    offset: Math.hypot(placeFromTool[3]!, placeFromTool[7]!),
  };
}

/**
 * How near the push is to jamming at the depth where the worst tilt first gives contact on two sides; the line of the push
 * may be off the place's axis by what it is in the file and by the worst lateral deviation.
 */
function jammingOf(cell: Cell, holder: string, placed: PlaceFit & { ok: true }, line: PushLine, force: number) {
  const { sizes, depth } = placed;
  if (sizes.friction === undefined || depth === undefined || sizes.hole <= sizes.part || line.tilt >= Math.PI / 2)
    return undefined;
  const deviations = deviationsAt(cell, holder);
  const tilt = line.tilt + Math.SQRT2 * sumOf(deviations, "tilt").worst;
  const atDepth = twoPointTilt(sizes.hole, sizes.part, depth);
  const touches = atDepth !== undefined && tilt > atDepth;
  const at = touches ? Math.max(1e-6, (sizes.hole - sizes.part * Math.cos(tilt)) / Math.sin(tilt)) : depth;
  const off = line.offset + Math.SQRT2 * sumOf(deviations, "within").worst;
  const along = force * Math.cos(line.tilt);
  return jamming(sizes.part, at, sizes.friction, { along, across: force * Math.sin(line.tilt), moment: along * off });
}

function cautionsOf(cell: Cell, holder: string, placed: PlaceFit, press: PressReport | null): string[] {
  const cautions: string[] = [];
  if (!placed.ok) cautions.push(placed.why);
  else {
    const missing = missingDeviations(cell, holder);
    if (missing.length > 0)
      cautions.push(
        `no deviation is stated for ${missing.join(", ")}: the probability does not include ${missing.length === 1 ? "it" : "them"}`,
      );
    if (placed.partFrom === "shape") cautions.push("the diameter is taken from the part's cylinder");
    if (placed.sizes.friction === undefined)
      cautions.push("no friction of the fit is stated, so wedging and jamming are unknowable");
    if (placed.depth === undefined)
      cautions.push("no depth of the fit is stated, so contact on two sides and jamming are unknowable");
    if (placed.unstatedChamfers) cautions.push("no chamfer is stated: counted as sharp edges");
    if (placed.unstatedTolerances.length > 0)
      cautions.push(`no tolerance of the ${placed.unstatedTolerances.join(" and ")} is stated: taken as exact`);
  }
  if (press !== null)
    cautions.push(
      `without contact after ${(1000 * press.travel_m).toFixed(1)} mm it is not seated: the routine states nothing for that, so let the arm's program stop there`,
    );
  return cautions;
}
