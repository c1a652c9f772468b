/**
 * What happens along a timed run: largest tool speed, acceleration and jerk, largest share of each torque limit. Looked for
 * at fine steps of time, on both sides of every kink, and refined around the largest.
 */
import type { Dynamics } from "../arm/index.ts";
import type { Arm, Payload } from "../arm/model.ts";
import type { RunPath } from "./path/run-path.ts";
import { createToolPoint } from "./path/tool-rates.ts";
import type { TimedRun } from "./timed-run.ts";

export interface Survey {
  /** m/s, m/s², m/s³, rad/s, rad/s² */
  readonly speed: number;
  readonly acceleration: number;
  readonly jerk: number;
  readonly turnSpeed: number;
  readonly turnAcceleration: number;
  /** |torque| / limit per joint; undefined when masses or limits are not known. */
  readonly torqueShare: Float64Array | undefined;
}

export interface Load {
  readonly dynamics: Dynamics;
  readonly payload: Payload | undefined;
  readonly gravity: readonly [number, number, number];
}

/** Steps of time: for laws with known kinks, and for others. */
const STEPS_BETWEEN_KINKS = 64;
const STEPS = 96;
/** Torque shares below this are not refined. */
const NEARLY_FULL = 0.9;
const TOOL_METRICS = 5;

/** The survey's load left undefined: torques are not looked at. */
export function createSurvey(arm: Arm): (path: RunPath, run: TimedRun, load: Load | undefined) => Survey {
  const { n } = arm;
  const point = createToolPoint();
  const [q, q1, q2, q3, qd, qdd, torque] = Array.from({ length: 7 }, () => new Float64Array(n));
  const along = new Float64Array(4);
  const metrics = TOOL_METRICS + n;
  const value = new Float64Array(metrics);
  const most = new Float64Array(metrics);
  const when = new Float64Array(metrics);

  const measure = (path: RunPath, run: TimedRun, load: Load | undefined, time: number): void => {
    run.at(time, along);
    const [s, v, a, j] = along;
    path.joints(s, q, q1, q2, q3);
    path.toolOf(s, q, q1, q2, q3, point);
    let speed = 0;
    let acceleration = 0;
    let jerk = 0;
    let turn = 0;
    let turnAcceleration = 0;
    const v2 = v * v;
    for (let k = 0; k < 3; k++) {
      speed += (point.p1[k] * v) ** 2;
      acceleration += (point.p2[k] * v2 + point.p1[k] * a) ** 2;
      jerk += (point.p3[k] * v2 * v + 3 * point.p2[k] * v * a + point.p1[k] * j) ** 2;
      turn += (point.w[k] * v) ** 2;
      turnAcceleration += (point.w1[k] * v2 + point.w[k] * a) ** 2;
    }
    value[0] = Math.sqrt(speed);
    value[1] = Math.sqrt(acceleration);
    value[2] = Math.sqrt(jerk);
    value[3] = Math.sqrt(turn);
    value[4] = Math.sqrt(turnAcceleration);
    if (load === undefined) return;
    for (let i = 0; i < n; i++) {
      qd[i] = q1[i] * v;
      qdd[i] = q2[i] * v2 + q1[i] * a;
    }
    load.dynamics.torque(q, qd, qdd, load.gravity, load.payload, torque);
    for (let i = 0; i < n; i++) value[TOOL_METRICS + i] = Math.abs(torque[i]) / arm.torque[i];
  };

  const note = (time: number): void => {
    for (let k = 0; k < metrics; k++)
      if (value[k] > most[k]) {
        most[k] = value[k];
        when[k] = time;
      }
  };

  return (path, run, load) => {
    most.fill(0);
    when.fill(0);
    value.fill(0);
    const { duration, kinks } = run;
    const steps = kinks.length > 0 ? STEPS_BETWEEN_KINKS : STEPS;
    const step = duration / steps;
    const beside = 1e-9 * duration;
    for (let k = 0; k <= steps; k++) {
      measure(path, run, load, k * step);
      note(k * step);
    }
    for (let k = 0; k < kinks.length; k++) {
      for (const time of [kinks[k] - beside, kinks[k] + beside]) {
        if (time < 0 || time > duration) continue;
        measure(path, run, load, time);
        note(time);
      }
    }
    // Around the largest of each: the vertex of the parabola through it and its neighbours, twice.
    for (let m = 0; m < metrics; m++) {
      if (!(most[m] > 0) || (m >= TOOL_METRICS && most[m] < NEARLY_FULL)) continue;
      for (let round = 0, h = step; round < 2; round++, h /= 8) {
        const middle = when[m];
        const top = most[m];
        if (middle - h < 0 || middle + h > duration) break;
        measure(path, run, load, middle - h);
        const before = value[m];
        note(middle - h);
        measure(path, run, load, middle + h);
        const after = value[m];
        note(middle + h);
        const bend = before - 2 * top + after;
        if (most[m] > top || !(bend < 0)) continue;
        const time = middle + (h * (before - after)) / (2 * bend);
        measure(path, run, load, time);
        note(time);
      }
    }
    return {
      speed: most[0],
      acceleration: most[1],
      jerk: most[2],
      turnSpeed: most[3],
      turnAcceleration: most[4],
      torqueShare: load === undefined ? undefined : most.slice(TOOL_METRICS),
    };
  };
}
