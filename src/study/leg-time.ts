/**
 * Closed-form estimates of one leg between two joint positions: how long it takes alone from rest to rest, and the share of
 * the torque limits that it asks for.
 *
 * Joint-interpolated legs: the straight line in joint space under the joint limits, as the planner times it, with the speed
 * and acceleration of the tool bounded at five points of the way. Lines: the tool's own limits along the length, or the
 * joint limits over the change of joints, whichever takes longer. Torques: at the start, the end and in the middle; where they
 * exceed a limit, the acceleration is reduced to what the joint has left.
 */
import { type Dynamics, forwardKinematics } from "../arm/index.ts";
import type { Arm, Payload } from "../arm/model.ts";
import type { Pose } from "../math/pose.ts";
import { doubleSPhases, type ToolLimits } from "../motion/index.ts";

export interface LegLimits {
  readonly fraction: number;
  readonly toolSpeed: number;
  readonly toolAcceleration: number;
}

/** Written by the estimators. */
export interface LegEstimate {
  /** From rest to rest, s. */
  time: number;
  /** Time of the first and the last ramp in it. */
  rise: number;
  fall: number;
  /** Largest share of a torque limit; NaN where not known; above 1 only when the arm cannot even hold still. */
  torque: number;
}

export const newEstimate = (): LegEstimate => ({ time: 0, rise: 0, fall: 0, torque: Number.NaN });

/** Speeds are reached within this time where an arm states neither acceleration nor jerk, s (as the planner assumes). */
const UNSTATED_RAMP = 1e-3;
/** Points of the way at which the tool is looked at. */
const LOOKS = 4;

export class LegTimer {
  readonly #arm: Arm;
  readonly #tool: ToolLimits;
  readonly #dynamics: Dynamics | undefined;
  readonly #acceleration: Float64Array;
  readonly #points = new Float64Array(3 * (LOOKS + 1));
  readonly #q: Float64Array;
  readonly #qd: Float64Array;
  readonly #qdd: Float64Array;
  readonly #still: Float64Array;
  readonly #torque: Float64Array;
  readonly #held: Float64Array;
  readonly #pose = new Float64Array(16);

  /** @param dynamics left out where torques are not to be looked at */
  constructor(arm: Arm, tool: ToolLimits, dynamics: Dynamics | undefined) {
    this.#arm = arm;
    this.#tool = tool;
    this.#dynamics = dynamics;
    this.#acceleration = arm.acceleration.map((a, i) =>
      a < Number.POSITIVE_INFINITY || arm.jerk[i]! < Number.POSITIVE_INFINITY ? a : arm.velocity[i]! / UNSTATED_RAMP,
    );
    const row = () => new Float64Array(arm.n);
    [this.#q, this.#qd, this.#qdd, this.#still, this.#torque, this.#held] = [row(), row(), row(), row(), row(), row()];
  }

  /** A joint-interpolated leg. @param load undefined: torques are not looked at */
  joint(
    from: Float64Array,
    to: Float64Array,
    limits: LegLimits,
    flangeFromTcp: Pose,
    load: Payload | undefined,
    gravity: readonly [number, number, number],
    out: LegEstimate,
  ): void {
    let [speed, acceleration, jerk] = this.#jointLimits(from, to, limits.fraction);
    if (speed === Number.POSITIVE_INFINITY) {
      out.time = out.rise = out.fall = 0;
      out.torque = this.#holding(from, load, gravity);
      return;
    }
    const toolSpeed = Math.min(limits.toolSpeed, this.#tool.speed);
    const toolAcceleration = Math.min(limits.toolAcceleration, this.#tool.acceleration);
    if (toolSpeed < Number.POSITIVE_INFINITY || toolAcceleration < Number.POSITIVE_INFINITY) {
      const [fast, bent] = this.#toolRates(from, to, flangeFromTcp);
      speed = Math.min(speed, toolSpeed / fast, Math.sqrt(toolAcceleration / bent));
      acceleration = Math.min(acceleration, toolAcceleration / fast);
    }
    out.torque = Number.NaN;
    if (load !== undefined && this.#dynamics !== undefined) {
      // Ramps at both ends, then again with the acceleration that the torques leave.
      const [share, kept] = this.#rampTorque(from, to, acceleration, load, gravity);
      out.torque = share;
      acceleration *= kept;
      jerk *= kept;
    }
    writePhases(1, speed, acceleration, jerk, out);
    if (load !== undefined && this.#dynamics !== undefined)
      out.torque = Math.max(out.torque, this.#middleTorque(from, to, Math.min(speed, 1 / out.rise), load, gravity));
  }

  /** A line or arc of a length (m) in which the tool turns by an angle (rad). */
  line(
    from: Float64Array,
    to: Float64Array,
    length: number,
    angle: number,
    limits: LegLimits,
    load: Payload | undefined,
    gravity: readonly [number, number, number],
    out: LegEstimate,
  ): void {
    const tool = this.#tool;
    let longest = 0;
    out.time = out.rise = out.fall = 0;
    const consider = (distance: number, speed: number, acceleration: number, jerk: number) => {
      if (!(distance > 0) || speed === Number.POSITIVE_INFINITY) return;
      const time = writePhases(distance, speed, acceleration, jerk, candidate);
      if (time <= longest) return;
      longest = time;
      out.time = candidate.time;
      out.rise = candidate.rise;
      out.fall = candidate.fall;
    };
    consider(
      length,
      Math.min(limits.toolSpeed, tool.speed),
      Math.min(limits.toolAcceleration, tool.acceleration),
      tool.jerk,
    );
    consider(angle, tool.turnSpeed, tool.turnAcceleration, Number.POSITIVE_INFINITY);
    const [speed, acceleration, jerk] = this.#jointLimits(from, to, limits.fraction);
    consider(1, speed, acceleration, jerk);
    out.torque = Math.max(this.#holding(from, load, gravity), this.#holding(to, load, gravity));
  }

  /** Share of the torque limits that holding still takes; NaN where not known. */
  #holding(q: Float64Array, load: Payload | undefined, gravity: readonly [number, number, number]): number {
    if (load === undefined || this.#dynamics === undefined) return Number.NaN;
    this.#dynamics.torque(q, this.#still, this.#still, gravity, load, this.#held);
    return this.#share(this.#held);
  }

  #share(torque: Float64Array): number {
    let most = 0;
    for (let i = 0; i < torque.length; i++) most = Math.max(most, Math.abs(torque[i]!) / this.#arm.torque[i]!);
    return most;
  }

  /** Speed, acceleration and jerk of the path parameter (0 to 1) along a straight line in joint space; Infinity for no way. */
  #jointLimits(from: Float64Array, to: Float64Array, fraction: number): [number, number, number] {
    const { n, velocity, jerk: jerks } = this.#arm;
    let speed = Number.POSITIVE_INFINITY,
      acceleration = Number.POSITIVE_INFINITY,
      jerk = Number.POSITIVE_INFINITY;
    for (let i = 0; i < n; i++) {
      const way = Math.abs(to[i]! - from[i]!);
      if (way < 1e-12) continue;
      speed = Math.min(speed, (fraction * velocity[i]!) / way);
      acceleration = Math.min(acceleration, this.#acceleration[i]! / way);
      jerk = Math.min(jerk, jerks[i]! / way);
    }
    return [speed, acceleration, jerk];
  }

  /** Largest first and second derivative of the tool's position by the path parameter, from differences. */
  #toolRates(from: Float64Array, to: Float64Array, flangeFromTcp: Pose): [number, number] {
    const points = this.#points;
    const q = this.#q;
    const [x, y, z] = [flangeFromTcp[3]!, flangeFromTcp[7]!, flangeFromTcp[11]!];
    for (let k = 0; k <= LOOKS; k++) {
      const s = k / LOOKS;
      for (let i = 0; i < q.length; i++) q[i] = from[i]! + s * (to[i]! - from[i]!);
      const t = forwardKinematics(this.#arm, q, this.#pose);
      for (let r = 0; r < 3; r++)
        points[3 * k + r] = t[4 * r]! * x + t[4 * r + 1]! * y + t[4 * r + 2]! * z + t[4 * r + 3]!;
    }
    let fast = 0,
      bent = 0;
    for (let k = 0; k < LOOKS; k++) {
      const a = 3 * k;
      fast = Math.max(
        fast,
        Math.hypot(points[a + 3]! - points[a]!, points[a + 4]! - points[a + 1]!, points[a + 5]! - points[a + 2]!),
      );
      if (k === 0) continue;
      bent = Math.max(
        bent,
        Math.hypot(
          points[a + 3]! - 2 * points[a]! + points[a - 3]!,
          points[a + 4]! - 2 * points[a + 1]! + points[a - 2]!,
          points[a + 5]! - 2 * points[a + 2]! + points[a - 1]!,
        ),
      );
    }
    return [fast * LOOKS, bent * LOOKS * LOOKS];
  }

  /** Largest torque share in the two ramps, at most 1 where slowing down helps, and the share of the acceleration kept. */
  #rampTorque(
    from: Float64Array,
    to: Float64Array,
    acceleration: number,
    load: Payload,
    gravity: readonly [number, number, number],
  ): [number, number] {
    const { n, torque: limits } = this.#arm;
    let most = 0;
    let kept = 1;
    for (let end = 0; end < 2; end++) {
      const q = end === 0 ? from : to;
      const sign = end === 0 ? 1 : -1;
      for (let i = 0; i < n; i++) this.#qdd[i] = sign * acceleration * (to[i]! - from[i]!);
      this.#dynamics!.torque(q, this.#still, this.#qdd, gravity, load, this.#torque);
      const share = this.#share(this.#torque);
      if (share <= 1) {
        most = Math.max(most, share);
        continue;
      }
      this.#dynamics!.torque(q, this.#still, this.#still, gravity, load, this.#held);
      const still = this.#share(this.#held);
      if (still >= 1) return [still, 1];
      most = 1;
      for (let i = 0; i < n; i++) {
        const more = this.#torque[i]! - this.#held[i]!;
        const room = limits[i]! - Math.sign(more) * this.#held[i]!;
        if (Math.abs(more) > room) kept = Math.min(kept, room / Math.abs(more));
      }
    }
    return [most, kept];
  }

  #middleTorque(
    from: Float64Array,
    to: Float64Array,
    speed: number,
    load: Payload,
    gravity: readonly [number, number, number],
  ): number {
    for (let i = 0; i < this.#q.length; i++) {
      this.#q[i] = 0.5 * (from[i]! + to[i]!);
      this.#qd[i] = speed * (to[i]! - from[i]!);
    }
    this.#dynamics!.torque(this.#q, this.#qd, this.#still, gravity, load, this.#torque);
    // The planner slows a motion down where speed alone would ask too much.
    const share = this.#share(this.#torque);
    if (share <= 1) return share;
    this.#dynamics!.torque(this.#q, this.#still, this.#still, gravity, load, this.#held);
    return Math.max(1, this.#share(this.#held));
  }
}

const candidate = newEstimate();

/** Rest-to-rest law over a distance; without a jerk limit the acceleration jumps. @returns the time, s */
function writePhases(distance: number, speed: number, acceleration: number, jerk: number, out: LegEstimate): number {
  if (jerk < Number.POSITIVE_INFINITY) {
    const { rise, cruise, fall } = doubleSPhases(0, distance, 0, 0, speed, acceleration, jerk);
    out.rise = rise;
    out.fall = fall;
    out.time = rise + cruise + fall;
    return out.time;
  }
  // T = D/V + V/A or 2√(D/A).
  const ramp = Math.min(speed / acceleration, Math.sqrt(distance / acceleration));
  out.rise = out.fall = ramp;
  out.time = acceleration === Number.POSITIVE_INFINITY ? distance / speed : ramp + distance / (acceleration * ramp);
  return out.time;
}
