/**
 * What the limits allow at one place of a path: the largest path speed, acceleration and jerk, and how much of them a given
 * state uses. With c(s) a joint value and its derivatives by s, the joint's speed is c'ṡ, its acceleration c'' ṡ² + c' s̈, its
 * jerk c''' ṡ³ + 3 c'' ṡ s̈ + c' s⃛; the tool's position and turning are three such channels each, whose norm is limited.
 */
import type { Arm } from "../../arm/model.ts";
import type { RunPath } from "../path/run-path.ts";
import type { RunStretch } from "../time-path-run.ts";
import { statedAcceleration } from "../timed-run.ts";
import type { LimitKind, ToolLimits } from "../types.ts";

const FREE = Number.POSITIVE_INFINITY;

export interface Allowance {
  /** Evaluates the path at s; all else is asked for there. */
  load(s: number): void;
  /** Largest path speed at which no speed limit is exceeded. */
  speed(): number;
  /** Largest path speed that can be kept constant: no limit exceeded with s̈ = s⃛ = 0. */
  steadySpeed(): number;
  /** Largest a >= 0 for which s̈ = sign·a exceeds no acceleration limit at path speed v; below 0 when there is none. */
  acceleration(v: number, sign: number): number;
  /** Largest j >= 0 for which s⃛ = sign·j exceeds no jerk limit at path speed v and s̈ = a; below 0 when there is none. */
  jerk(v: number, a: number, sign: number): number;
  /** Factor by which time must be stretched for the state to exceed no limit: above 1 if one is exceeded. */
  need(v: number, a: number, j: number): number;
  /** The limit that the state uses most, and how much of it, 1 being all. */
  most(v: number, a: number, j: number): { readonly kind: LimitKind; readonly joint?: number; readonly use: number };
}

/** @param path its channels are evaluated through the path's own scratch   @param stretches cover the path in order */
export function createAllowance(
  arm: Arm,
  path: RunPath,
  stretches: readonly RunStretch[],
  tool: ToolLimits,
): Allowance {
  const { n } = arm;
  const groupsOf = stretches.map(({ speed }) => ({
    velocity: [Math.min(tool.speed, speed.toolSpeed), tool.turnSpeed],
    acceleration: [Math.min(tool.acceleration, speed.toolAcceleration), tool.turnAcceleration],
    jerk: [tool.jerk, FREE],
  }));
  const limited = groupsOf.some((g) => Math.min(...g.velocity, ...g.acceleration, ...g.jerk) < FREE);
  const groups = limited ? [n, n + 3] : [];
  const [c, c1, c2, c3] = Array.from({ length: 4 }, () => new Float64Array(limited ? n + 6 : n));
  const acceleration = statedAcceleration(arm);
  const { velocity, jerk } = arm;
  let at = 0;
  let fraction = 1;
  let group = groupsOf[0];

  /** Largest x >= 0 with |base + direction·x| <= limit over three channels from `first`. */
  const normRoom = (first: number, v2: number, va: number, v3: number, sign: number, limit: number): number => {
    if (limit === FREE) return FREE;
    let dd = 0;
    let db = 0;
    let bb = 0;
    for (let k = first; k < first + 3; k++) {
      const base = c2[k] * v2 + c3[k] * v3 + 3 * c2[k] * va;
      const d = sign * c1[k];
      dd += d * d;
      db += d * base;
      bb += base * base;
    }
    const room = limit * limit - bb;
    if (dd === 0) return room >= 0 ? FREE : -1;
    if (room < 0 && db >= 0) return -1;
    const root = db * db + dd * room;
    return root < 0 ? -1 : (Math.sqrt(root) - db) / dd;
  };

  return {
    load(s) {
      path.channels(s, c, c1, c2, c3);
      if (s < stretches[at].from) at = 0;
      while (at + 1 < stretches.length && s > stretches[at].to) at++;
      fraction = stretches[at].speed.fraction;
      group = groupsOf[at];
    },
    speed() {
      let most = FREE;
      for (let i = 0; i < n; i++) most = Math.min(most, (fraction * velocity[i]) / Math.abs(c1[i]));
      for (let g = 0; g < groups.length; g++)
        most = Math.min(most, group.velocity[g] / Math.hypot(c1[groups[g]], c1[groups[g] + 1], c1[groups[g] + 2]));
      return most;
    },
    steadySpeed() {
      let most = this.speed();
      let square = FREE;
      let cube = FREE;
      for (let i = 0; i < n; i++) {
        square = Math.min(square, acceleration[i] / Math.abs(c2[i]));
        cube = Math.min(cube, jerk[i] / Math.abs(c3[i]));
      }
      for (let g = 0; g < groups.length; g++) {
        const k = groups[g];
        square = Math.min(square, group.acceleration[g] / Math.hypot(c2[k], c2[k + 1], c2[k + 2]));
        cube = Math.min(cube, group.jerk[g] / Math.hypot(c3[k], c3[k + 1], c3[k + 2]));
      }
      most = Math.min(most, Math.sqrt(square), Math.cbrt(cube));
      return most;
    },
    acceleration(v, sign) {
      const v2 = v * v;
      let most = FREE;
      for (let i = 0; i < n; i++) {
        const d = sign * c1[i];
        if (d === 0) continue;
        const base = d > 0 ? c2[i] * v2 : -c2[i] * v2;
        most = Math.min(most, (acceleration[i] - base) / Math.abs(d));
      }
      for (let g = 0; g < groups.length; g++)
        most = Math.min(most, normRoom(groups[g], v2, 0, 0, sign, group.acceleration[g]));
      return most;
    },
    jerk(v, a, sign) {
      const v3 = v * v * v;
      const va = v * a;
      let most = FREE;
      for (let i = 0; i < n; i++) {
        const d = sign * c1[i];
        if (d === 0) continue;
        const base = c3[i] * v3 + 3 * c2[i] * va;
        most = Math.min(most, (jerk[i] - (d > 0 ? base : -base)) / Math.abs(d));
      }
      for (let g = 0; g < groups.length; g++)
        most = Math.min(most, normRoom(groups[g], 0, va, v3, sign, group.jerk[g]));
      return most;
    },
    need(v, a, j) {
      const v2 = v * v;
      const v3 = v2 * v;
      let first = 0;
      let second = 0;
      let third = 0;
      for (let i = 0; i < n; i++) {
        first = Math.max(first, Math.abs(c1[i] * v) / (fraction * velocity[i]));
        second = Math.max(second, Math.abs(c2[i] * v2 + c1[i] * a) / acceleration[i]);
        third = Math.max(third, Math.abs(c3[i] * v3 + 3 * c2[i] * v * a + c1[i] * j) / jerk[i]);
      }
      for (let g = 0; g < groups.length; g++) {
        let x = 0;
        let y = 0;
        let z = 0;
        for (let k = groups[g]; k < groups[g] + 3; k++) {
          x += (c1[k] * v) ** 2;
          y += (c2[k] * v2 + c1[k] * a) ** 2;
          z += (c3[k] * v3 + 3 * c2[k] * v * a + c1[k] * j) ** 2;
        }
        first = Math.max(first, Math.sqrt(x) / group.velocity[g]);
        second = Math.max(second, Math.sqrt(y) / group.acceleration[g]);
        third = Math.max(third, Math.sqrt(z) / group.jerk[g]);
      }
      return Math.max(first, Math.sqrt(second), Math.cbrt(third));
    },
    most(v, a, j) {
      const v2 = v * v;
      let found: { kind: LimitKind; joint?: number; use: number } = { kind: "velocity", use: 0 };
      const look = (use: number, kind: LimitKind, joint?: number) => {
        if (use > found.use) found = { kind, use, ...(joint === undefined ? {} : { joint }) };
      };
      const third = (k: number) => c3[k] * v2 * v + 3 * c2[k] * v * a + c1[k] * j;
      for (let i = 0; i < n; i++) {
        look(Math.abs(c1[i] * v) / (fraction * velocity[i]), "velocity", i);
        look(Math.abs(c2[i] * v2 + c1[i] * a) / acceleration[i], "acceleration", i);
        look(Math.abs(third(i)) / jerk[i], "jerk", i);
      }
      for (let g = 0; g < groups.length; g++) {
        const k = groups[g];
        const norm = (f: (channel: number) => number) => Math.hypot(f(k), f(k + 1), f(k + 2));
        look(norm((x) => c1[x] * v) / group.velocity[g], g === 0 ? "tool speed" : "tool turn speed");
        const acceleration2 = norm((x) => c2[x] * v2 + c1[x] * a) / group.acceleration[g];
        look(acceleration2, g === 0 ? "tool acceleration" : "tool turn acceleration");
        if (g === 0) look(norm(third) / group.jerk[g], "tool jerk");
      }
      return found;
    },
  };
}
