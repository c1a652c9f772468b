/** The load on every grip along all motions of the runs, and in a stop at any moment of them. */
import { biasAcceleration, forwardKinematics, geometricJacobian } from "../../arm/index.ts";
import type { Arm } from "../../arm/model.ts";
import type { Cell, Grip, Gripper, Part, Stage } from "../../cell/model.ts";
import type { CycleRun, HeldPart } from "../../cycle/index.ts";
import { type HoldingModel, holdingModel, jawMoment, momentOf } from "../../handling/index.ts";
import { compose, identityPose, invert, type Pose, translation } from "../../math/pose.ts";
import type { MotionFailure } from "../../motion/index.ts";
import { flangeFromHeldPart } from "../load.ts";
import { gravityInBase } from "../mover.ts";
import { type MotionState, type WalkedMotion, walkedMotions } from "./along.ts";
import { frictionOf, roundAlong, type StageFriction } from "./friction.ts";
import type { MomentReport } from "./report.ts";
import { type StopModel, stopModel } from "./stop.ts";

/** Common practice for friction grips; up to 4 with shocks. */
export const USUAL_SAFETY_FACTOR = 2;

/** The worst load of one kind. Loads in gripper axes, N. */
export interface LoadPeak {
  /** Ranks peaks: the force per jaw, or the size of the load where the friction is not known. */
  rank: number;
  load: readonly [number, number, number];
  acceleration: number;
  moment: MomentReport;
}

/** Loads of a part in one stage, held by one grip of one gripper. */
export interface StageLoads {
  readonly stage: Stage;
  readonly friction: StageFriction;
  /** Undefined: the friction is not stated. */
  readonly model: HoldingModel | undefined;
  /** Largest acceleration of its centre of mass in the motions, m/s². */
  acceleration: number;
  motion: LoadPeak | undefined;
  stop: LoadPeak | undefined;
  /** Largest moment on one jaw, N m, and the part of it about the line from jaw to jaw, all jaws together. */
  jaw: { value: number; turning: number; moment: MomentReport } | undefined;
}

export interface GripLoads {
  readonly gripper: Gripper;
  readonly part: Part;
  readonly grip: Grip;
  /** From where the jaws are guided (or the tool centre point) to the centre of mass, m, gripper axes; by stage. */
  readonly levers: ReadonlyMap<string, readonly [number, number, number]>;
  /** In the order of the part's stages. */
  readonly stages: readonly StageLoads[];
}

export interface GripSurvey {
  readonly grips: readonly GripLoads[];
  readonly stop: StopModel | undefined;
}

interface Building extends GripLoads {
  readonly levers: Map<string, readonly [number, number, number]>;
  readonly stages: StageLoads[];
}

export function surveyGrips(cell: Cell, arm: Arm, runs: readonly CycleRun<MotionFailure>[]): GripSurvey {
  const stop = stopModel(cell, arm);
  const meter = createLoadMeter(cell, arm, stop);
  const grips = new Map<string, Building>();
  for (const motion of walkedMotions(arm.n, runs))
    for (const [name, held] of motion.context.held) {
      const gripper = cell.tool.grippers.get(name);
      const part = cell.parts.get(held.part);
      const grip = part?.grips.get(held.grip);
      const stage = part?.stages.find((s) => s.name === held.stage);
      if (gripper === undefined || part === undefined || grip === undefined || stage === undefined) continue;
      const key = `${name}|${held.part}|${held.grip}`;
      let building = grips.get(key);
      if (building === undefined) {
        building = { gripper, part, grip, stages: [], levers: new Map() };
        grips.set(key, building);
      }
      let loads = building.stages.find((s) => s.stage === stage);
      if (loads === undefined) {
        loads = stageLoads(cell, gripper, part, grip, stage);
        building.stages.push(loads);
        building.levers.set(stage.name, leverOf(gripper, grip, stage));
      }
      meter(motion, gripper, held, loads, building.levers.get(stage.name)!);
    }
  for (const { part, stages } of grips.values())
    stages.sort((a, b) => part.stages.indexOf(a.stage) - part.stages.indexOf(b.stage));
  return { grips: [...grips.values()], stop };
}

function stageLoads(cell: Cell, gripper: Gripper, part: Part, grip: Grip, stage: Stage): StageLoads {
  const friction = frictionOf(part, stage.name, grip, gripper);
  const known = grip.way === "form" || friction.value !== undefined;
  const model = known
    ? holdingModel({
        jaws: gripper.jaws,
        way: grip.way,
        friction: friction.value ?? 1,
        safetyFactor: cell.handling?.safetyFactor ?? USUAL_SAFETY_FACTOR,
        vAngle: gripper.vAngle,
        along: roundAlong(part, grip),
      })
    : undefined;
  return { stage, friction, model, acceleration: 0, motion: undefined, stop: undefined, jaw: undefined };
}

function leverOf(gripper: Gripper, grip: Grip, stage: Stage): [number, number, number] {
  const [x, y, z] = stage.inertia.centre;
  const centre = compose(invert(grip.partFromTcp), translation(x, y, z));
  return [centre[3]!, centre[7]!, centre[11]! + (gripper.fingerLength ?? 0)];
}

/** Looks at one motion with one held part, and keeps what is worst of it in `loads`. */
function createLoadMeter(cell: Cell, arm: Arm, stop: StopModel | undefined) {
  const { n } = arm;
  const jacobian = new Float64Array(6 * n);
  const bias = new Float64Array(6);
  const stopping = new Float64Array(n);
  const flange = identityPose();
  const tool = identityPose();
  const gravity = gravityInBase(cell);
  const force = new Float64Array(3);
  const load = new Float64Array(3);

  /** Force on the part in gripper axes for joint accelerations `qdd`, in `load`; @returns the acceleration's size. */
  const loadOf = (qdd: Float64Array, mass: number): number => {
    let sum = 0;
    for (let r = 0; r < 3; r++) {
      let a = bias[r]!;
      for (let i = 0; i < n; i++) a += jacobian[r * n + i]! * qdd[i]!;
      sum += a * a;
      force[r] = mass * (a - gravity[r]!);
    }
    for (let c = 0; c < 3; c++) load[c] = tool[c]! * force[0]! + tool[4 + c]! * force[1]! + tool[8 + c]! * force[2]!;
    return Math.sqrt(sum);
  };

  return (
    motion: WalkedMotion,
    gripper: Gripper,
    held: HeldPart,
    loads: StageLoads,
    lever: readonly [number, number, number],
  ): void => {
    const { mass, centre } = loads.stage.inertia;
    const flangeFromCentre = compose(
      flangeFromHeldPart(cell, gripper.name, held),
      translation(centre[0], centre[1], centre[2]),
    );
    const keep = (peak: LoadPeak | undefined, acceleration: number, time: number): LoadPeak | undefined => {
      const [x, y, z] = [load[0]!, load[1]!, load[2]!];
      const rank = loads.model === undefined ? Math.hypot(x, y, z) : loads.model.need(x, y, z);
      if (peak !== undefined && rank <= peak.rank) return peak;
      return { rank, load: [x, y, z], acceleration, moment: motion.momentAt(time) };
    };
    const keepMoment = (time: number): void => {
      const value = jawMoment(lever, load, gripper.jaws);
      if (loads.jaw !== undefined && value <= loads.jaw.value) return;
      loads.jaw = { value, turning: Math.abs(momentOf(lever, load)[0]), moment: motion.momentAt(time) };
    };
    motion.walk((state: MotionState, time) => {
      geometricJacobian(arm, state.q, flangeFromCentre, jacobian);
      biasAcceleration(arm, state.q, state.qd, flangeFromCentre, bias);
      turnOf(arm, state.q, gripper.flangeFromTcp, flange, tool);
      const acceleration = loadOf(state.qdd, mass);
      loads.acceleration = Math.max(loads.acceleration, acceleration);
      loads.motion = keep(loads.motion, acceleration, time);
      keepMoment(time);
      if (stop === undefined) return;
      stop.decelerate(state.qd, stopping);
      const braking = loadOf(stopping, mass);
      loads.stop = keep(loads.stop, braking, time);
      keepMoment(time);
    });
  };
}

function turnOf(arm: Arm, q: Float64Array, flangeFromTcp: Pose, flange: Pose, out: Pose): void {
  compose(forwardKinematics(arm, q, flange), flangeFromTcp, out);
}
