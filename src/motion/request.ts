/** What a motion request must be for a planner to look at it: anything else is the caller's bug. */
import type { Arm } from "../arm/model.ts";
import { ContractError } from "../math/contract-error.ts";
import type { Pose } from "../math/pose.ts";
import { isRigid } from "./path/rigid.ts";
import type { MotionRequest } from "./types.ts";

/** @throws ContractError naming what is malformed in a request, with its value */
export function requireRequest(arm: Arm, request: MotionRequest): void {
  const bad = (what: string): never => {
    throw new ContractError(`planMotion: ${what}`);
  };
  const numbers = (values: ArrayLike<number>, length: number, what: string) => {
    if (values.length !== length) bad(`${what} must have ${length} numbers, got ${values.length}`);
    for (let i = 0; i < length; i++)
      if (!Number.isFinite(values[i])) bad(`${what}[${i}] must be finite, got ${values[i]}`);
  };
  const positive = (value: number, what: string) => {
    if (!(value > 0)) bad(`${what} must be above 0, got ${value}`);
  };
  if (request.arm !== arm && request.arm.n !== arm.n) bad("request.arm must be the planner's arm");
  numbers(request.start, arm.n, "start");
  const rigid = (pose: Pose, what: string) => {
    numbers(pose, 16, what);
    if (!isRigid(pose)) bad(`${what} must be a rigid transform`);
  };
  rigid(request.flangeFromTcp, "flangeFromTcp");
  positive(request.lineStep, "lineStep");
  if (request.segments.length === 0) bad("segments must not be empty");
  for (const key of ["speed", "acceleration", "jerk", "turnSpeed", "turnAcceleration"] as const)
    positive(request.tool[key], `tool.${key}`);
  for (const [i, segment] of request.segments.entries()) {
    const { speed, blend } = segment;
    if (segment.kind === "joint") numbers(segment.to, arm.n, `segments[${i}].to`);
    else rigid(segment.to, `segments[${i}].to`);
    if (segment.kind === "arc") rigid(segment.via, `segments[${i}].via`);
    if (!(blend >= 0 && blend < Number.POSITIVE_INFINITY))
      bad(`segments[${i}].blend must be finite and not below 0 m, got ${blend}`);
    if (!(speed.fraction > 0 && speed.fraction <= 1))
      bad(`segments[${i}].speed.fraction must be in (0, 1], got ${speed.fraction}`);
    positive(speed.toolSpeed, `segments[${i}].speed.toolSpeed`);
    positive(speed.toolAcceleration, `segments[${i}].speed.toolAcceleration`);
    if (speed.constant && !(speed.toolSpeed < Number.POSITIVE_INFINITY))
      bad(`segments[${i}].speed.toolSpeed must be finite where it is to be constant`);
  }
}
