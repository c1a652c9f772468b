/** How much of each limit a motion along a path uses at one point. */
import { ContractError } from "../../math/contract-error.ts";
import { requireFinite, requirePositive } from "./limits.ts";
import type { PathLimitName, PathLimits, PathRange, TimedPath } from "./path-types.ts";

/** A limit as one integer: kind * 65536 + index of the channel, group or row. */
export const LIMIT = {
  velocity: 0,
  acceleration: 1,
  jerk: 2,
  torque: 3,
  groupSpeed: 4,
  groupAcceleration: 5,
  groupJerk: 6,
  constantSpeed: 7,
} as const;

export const limitId = (kind: number, index: number): number => kind * 65536 + index;

export function limitName(id: number): PathLimitName {
  const index = id % 65536;
  switch ((id - index) / 65536) {
    case LIMIT.velocity:
      return { kind: "velocity", channel: index };
    case LIMIT.acceleration:
      return { kind: "acceleration", channel: index };
    case LIMIT.jerk:
      return { kind: "jerk", channel: index };
    case LIMIT.torque:
      return { kind: "torque", row: index };
    case LIMIT.groupSpeed:
      return { kind: "velocity", group: index };
    case LIMIT.groupAcceleration:
      return { kind: "acceleration", group: index };
    case LIMIT.groupJerk:
      return { kind: "jerk", group: index };
    default:
      return { kind: "constant speed", group: index };
  }
}

/** Limits in force on one stretch, ready for use. */
export interface StretchLimits {
  readonly velocity: Float64Array;
  /** speed, acceleration, jerk per group. */
  readonly groups: Float64Array;
  readonly constantSpeed: number | undefined;
}

/**
 * Checks path and limits for shape.
 * @throws ContractError naming the first entry that is wrong
 */
export function requirePathLimits(path: TimedPath, limits: PathLimits): void {
  const n = path.channels;
  if (!(path.length > 0 && Number.isFinite(path.length))) {
    throw new ContractError(`timePath: path.length must be finite and above 0, got ${path.length}`);
  }
  for (const key of ["velocity", "acceleration", "jerk"] as const) {
    if (limits[key].length !== n) {
      throw new ContractError(`timePath: limits.${key} has ${limits[key].length} entries for ${n} channels`);
    }
    for (let i = 0; i < n; i++) requirePositive("timePath", `limits.${key}[${i}]`, limits[key][i]!);
  }
  for (const group of limits.groups) {
    if (!(group.first >= 0 && group.size >= 1 && group.size <= 3 && group.first + group.size <= n)) {
      throw new ContractError(
        `timePath: group "${group.label}" of ${group.size} channels from ${group.first} must lie within ${n} channels`,
      );
    }
    requireGroup(group.label, group);
  }
  let before = 0;
  for (const range of limits.ranges ?? []) {
    requireFinite("timePath", "range.from", range.from);
    requireFinite("timePath", "range.to", range.to);
    if (range.from < before - 1e-12 * path.length || range.to < range.from) {
      throw new ContractError(`timePath: ranges must ascend without overlap, got ${range.from} to ${range.to}`);
    }
    before = range.to;
    const scale = range.velocityScale ?? 1;
    if (!(scale > 0 && scale <= 1)) throw new ContractError(`timePath: velocityScale must be in (0, 1], got ${scale}`);
    if (range.groups && range.groups.length !== limits.groups.length) {
      throw new ContractError(`timePath: a range gives ${range.groups.length} of ${limits.groups.length} group limits`);
    }
    for (const group of range.groups ?? []) requireGroup("range", group);
    if (range.constantSpeed !== undefined) {
      requirePositive("timePath", "constantSpeed", range.constantSpeed, true);
      if (limits.groups.length === 0) throw new ContractError("timePath: constantSpeed needs a group 0");
    }
  }
  if (limits.torque) {
    for (let i = 0; i < limits.torque.rows; i++) {
      requirePositive("timePath", `torque.limit[${i}]`, limits.torque.limit[i]!);
    }
  }
}

function requireGroup(label: string, group: { speed: number; acceleration: number; jerk: number }): void {
  requirePositive("timePath", `group "${label}" speed`, group.speed);
  requirePositive("timePath", `group "${label}" acceleration`, group.acceleration);
  requirePositive("timePath", `group "${label}" jerk`, group.jerk);
}

/** Evaluates a path at a point and measures states against the limits there. Reuses its arrays. */
export class PathUse {
  readonly path: TimedPath;
  readonly limits: PathLimits;
  readonly c: Float64Array;
  readonly c1: Float64Array;
  readonly c2: Float64Array;
  readonly c3: Float64Array;
  readonly ta: Float64Array;
  readonly tb: Float64Array;
  readonly tc: Float64Array;
  /** Limits in force at the point loaded last. */
  stretch: StretchLimits;
  /** Results of {@link measure}: factor by which time must be stretched (<= 1: all kept), and its limit. */
  need = 0;
  needId = 0;
  /** Highest demand / limit, and its limit. */
  use = 0;
  useId = 0;
  /** Channels and groups that {@link measure} leaves out, where set. */
  skippedChannels: Uint8Array | undefined;
  skippedGroups: Uint8Array | undefined;
  private readonly base: StretchLimits;
  private readonly byRange: readonly StretchLimits[];
  private readonly ranges: readonly PathRange[];

  /** @param fastest lowers the channels' velocity limits, in ranges too */
  constructor(path: TimedPath, limits: PathLimits, fastest?: Float64Array) {
    this.path = path;
    this.limits = limits;
    const n = path.channels;
    this.c = new Float64Array(n);
    this.c1 = new Float64Array(n);
    this.c2 = new Float64Array(n);
    this.c3 = new Float64Array(n);
    const rows = limits.torque?.rows ?? 0;
    this.ta = new Float64Array(rows);
    this.tb = new Float64Array(rows);
    this.tc = new Float64Array(rows);
    const groupArray = (groups: readonly { speed: number; acceleration: number; jerk: number }[]): Float64Array =>
      Float64Array.from(groups.flatMap((g) => [g.speed, g.acceleration, g.jerk]));
    const capped = (velocity: Float64Array): Float64Array =>
      fastest ? velocity.map((v, i) => Math.min(v, fastest[i]!)) : velocity;
    this.base = { velocity: capped(limits.velocity), groups: groupArray(limits.groups), constantSpeed: undefined };
    this.ranges = limits.ranges ?? [];
    this.byRange = this.ranges.map((range) => ({
      velocity: capped(limits.velocity.map((v) => v * (range.velocityScale ?? 1))),
      groups: groupArray(range.groups ?? limits.groups),
      constantSpeed: range.constantSpeed,
    }));
    this.stretch = this.base;
  }

  /** Limits just after s (side 1), just before it (side -1). */
  limitsAt(s: number, side: 1 | -1): StretchLimits {
    const probe = s + side * 1e-10 * this.path.length;
    for (let i = 0; i < this.ranges.length; i++) {
      if (probe >= this.ranges[i]!.from && probe <= this.ranges[i]!.to) return this.byRange[i]!;
    }
    return this.base;
  }

  /** The limits in force on the whole path where they are the same everywhere; undefined where they are not. */
  commonLimits(): StretchLimits | undefined {
    if (this.ranges.length === 0) return this.base;
    const near = 1e-9 * this.path.length;
    let at = 0;
    const common = this.byRange[0]!;
    for (let i = 0; i < this.ranges.length; i++) {
      const { from, to } = this.ranges[i]!;
      const { velocity, groups, constantSpeed } = this.byRange[i]!;
      if (from > at + near || constantSpeed !== undefined) return undefined;
      if (!velocity.every((v, k) => v === common.velocity[k])) return undefined;
      if (!groups.every((v, k) => v === common.groups[k])) return undefined;
      at = to;
    }
    return at >= this.path.length - near ? common : undefined;
  }

  /** Loads path derivatives and torque coefficients; `side` picks the branch where s is a break. */
  load(s: number, side: 1 | -1): void {
    const { path, limits } = this;
    const at = this.onBreak(s) ? s + side * 1e-9 * path.length : s;
    path.evaluate(Math.min(path.length, Math.max(0, at)), this.c, this.c1, this.c2, this.c3);
    limits.torque?.coefficients(Math.min(path.length, Math.max(0, s)), this.ta, this.tb, this.tc);
    this.stretch = this.ranges.length === 0 ? this.base : this.limitsAt(s, side);
  }

  onBreak(s: number): boolean {
    const breaks = this.path.breaks;
    const near = 1e-10 * this.path.length;
    for (let i = 0; i < breaks.length; i++) if (Math.abs(breaks[i]! - s) <= near) return true;
    return false;
  }

  /** Measures a state at the loaded point. */
  measure(sd: number, sdd: number, sddd: number): void {
    const { c1, c2, c3, stretch, limits } = this;
    const n = this.path.channels;
    this.need = 0;
    this.needId = 0;
    this.use = 0;
    this.useId = 0;
    const sd2 = sd * sd;
    const mixed = 3 * sd * sdd;
    const sd3 = sd2 * sd;
    for (let i = 0; i < n; i++) {
      if (this.skippedChannels?.[i]) continue;
      const d1 = c1[i]!;
      const d2 = c2[i]!;
      const v = Math.abs(d1 * sd) / stretch.velocity[i]!;
      if (v > 0) this.note(v, v, limitId(LIMIT.velocity, i));
      const a = Math.abs(d1 * sdd + d2 * sd2) / limits.acceleration[i]!;
      if (a > 0) this.note(Math.sqrt(a), a, limitId(LIMIT.acceleration, i));
      const j = Math.abs(d1 * sddd + d2 * mixed + c3[i]! * sd3) / limits.jerk[i]!;
      if (j > 0) this.note(Math.cbrt(j), j, limitId(LIMIT.jerk, i));
    }
    for (let g = 0; g < limits.groups.length; g++) {
      if (this.skippedGroups?.[g]) continue;
      const { first, size } = limits.groups[g]!;
      let vv = 0;
      let aa = 0;
      let jj = 0;
      for (let i = first; i < first + size; i++) {
        const v = c1[i]! * sd;
        const a = c1[i]! * sdd + c2[i]! * sd2;
        const j = c1[i]! * sddd + c2[i]! * mixed + c3[i]! * sd3;
        vv += v * v;
        aa += a * a;
        jj += j * j;
      }
      const v = Math.sqrt(vv) / stretch.groups[3 * g]!;
      const a = Math.sqrt(aa) / stretch.groups[3 * g + 1]!;
      const j = Math.sqrt(jj) / stretch.groups[3 * g + 2]!;
      if (v > 0) this.note(v, v, limitId(LIMIT.groupSpeed, g));
      if (a > 0) this.note(Math.sqrt(a), a, limitId(LIMIT.groupAcceleration, g));
      if (j > 0) this.note(Math.cbrt(j), j, limitId(LIMIT.groupJerk, g));
    }
    const torque = limits.torque;
    if (torque) {
      for (let i = 0; i < torque.rows; i++) {
        const limit = torque.limit[i]!;
        const moving = this.ta[i]! * sdd + this.tb[i]! * sd2;
        const still = this.tc[i]!;
        const room = moving >= 0 ? limit - still : limit + still;
        const need = moving === 0 ? 0 : room > 0 ? Math.sqrt(Math.abs(moving) / room) : Number.POSITIVE_INFINITY;
        this.note(need, Math.abs(moving + still) / limit, limitId(LIMIT.torque, i));
      }
    }
  }

  private note(need: number, use: number, id: number): void {
    if (need > this.need) {
      this.need = need;
      this.needId = id;
    }
    if (use > this.use) {
      this.use = use;
      this.useId = id;
    }
  }
}
