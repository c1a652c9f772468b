/** Timing of a run along its path under every limit: joints, tool, torque, constant tool speed. */
import type { Arm } from "../arm/model.ts";
import type { RunPath } from "./path/run-path.ts";
import type { Load } from "./survey.ts";
import { statedAcceleration, type TimedRun } from "./timed-run.ts";
import type {
  GroupLimits,
  PathGroup,
  PathLimitName,
  PathLimits,
  PathRange,
  PathState,
  PathTimingFailure,
  PathTorque,
  TimedPath,
} from "./timing/index.ts";
import { timePath } from "./timing/index.ts";
import type { LimitKind, LimitSpan, SegmentSpeed, ToolLimits } from "./types.ts";

/** A stretch of the run with the limits of its segment. */
export interface RunStretch {
  readonly from: number;
  readonly to: number;
  readonly speed: SegmentSpeed;
  /** Part of the stretch outside the corners, where a constant speed must hold. */
  readonly steadyFrom: number;
  readonly steadyTo: number;
}

export type RunTiming =
  | { readonly ok: true; readonly run: TimedRun }
  | { readonly ok: false; readonly failure: PathTimingFailure };

const TRANSLATION = 0;

/**
 * @param load undefined: torques do not limit
 */
export function timePathRun(
  arm: Arm,
  path: RunPath,
  stretches: readonly RunStretch[],
  tool: ToolLimits,
  load: Load | undefined,
): RunTiming {
  const { n } = arm;
  const groupsOf = ({ speed }: RunStretch): [GroupLimits, GroupLimits] => [
    {
      speed: Math.min(tool.speed, speed.toolSpeed),
      acceleration: Math.min(tool.acceleration, speed.toolAcceleration),
      jerk: tool.jerk,
    },
    { speed: tool.turnSpeed, acceleration: tool.turnAcceleration, jerk: Number.POSITIVE_INFINITY },
  ];
  const limited = stretches.some(
    (stretch) =>
      stretch.speed.constant ||
      groupsOf(stretch).some((g) => Math.min(g.speed, g.acceleration, g.jerk) < Number.POSITIVE_INFINITY),
  );
  const channels = limited ? n + 6 : n;
  const widen = (limits: Float64Array): Float64Array => {
    const out = new Float64Array(channels).fill(Number.POSITIVE_INFINITY);
    out.set(limits);
    return out;
  };
  const free: GroupLimits = {
    speed: Number.POSITIVE_INFINITY,
    acceleration: Number.POSITIVE_INFINITY,
    jerk: Number.POSITIVE_INFINITY,
  };
  const groups: PathGroup[] = limited
    ? [
        { ...free, first: n, size: 3, label: "tool" },
        { ...free, first: n + 3, size: 3, label: "tool turn" },
      ]
    : [];
  const ranges: PathRange[] = [];
  for (const stretch of stretches) {
    const shared = {
      velocityScale: stretch.speed.fraction,
      ...(limited ? { groups: groupsOf(stretch) } : {}),
    };
    if (!stretch.speed.constant) {
      if (stretch.to > stretch.from) ranges.push({ from: stretch.from, to: stretch.to, ...shared });
      continue;
    }
    const { from, steadyFrom, steadyTo, to } = stretch;
    if (steadyFrom > from) ranges.push({ from, to: steadyFrom, ...shared });
    ranges.push({ from: steadyFrom, to: steadyTo, ...shared, constantSpeed: stretch.speed.toolSpeed });
    if (to > steadyTo) ranges.push({ from: steadyTo, to, ...shared });
  }
  const limits: PathLimits = {
    velocity: widen(arm.velocity),
    acceleration: widen(statedAcceleration(arm)),
    jerk: widen(arm.jerk),
    groups,
    ranges,
    ...(load === undefined ? {} : { torque: torqueRows(arm, path, load) }),
  };
  const timed: TimedPath = {
    channels,
    length: path.length,
    breaks: Array.from(path.starts.subarray(1, path.starts.length - 1)),
    evaluate: (s, c, c1, c2, c3) => path.channels(s, c, c1, c2, c3),
  };
  const timing = timePath(timed, limits);
  if (!timing.ok) return { ok: false, failure: timing };
  let spans: readonly LimitSpan[] | undefined;
  const state: PathState = { s: 0, sd: 0, sdd: 0, sddd: 0 };
  return {
    ok: true,
    run: {
      duration: timing.duration,
      at(time, out) {
        timing.sample(time, state);
        out[0] = state.s;
        out[1] = state.sd;
        out[2] = state.sdd;
        out[3] = state.sddd;
      },
      timeAt: (s) => timing.timeAt(s),
      get limits() {
        spans ??= timing.limits.map((span): LimitSpan => ({ from: span.from, to: span.to, ...nameOf(span, n) }));
        return spans;
      },
      kinks: [],
    },
  };
}

/** Which limit of the arm or the tool a limit of the path's channels, groups and rows is. */
export function nameOf(limit: PathLimitName, n: number): { readonly kind: LimitKind; readonly joint?: number } {
  if (limit.row !== undefined) return { kind: "torque", joint: limit.row };
  if (limit.channel !== undefined && limit.channel < n && limit.kind !== "constant speed")
    return { kind: limit.kind, joint: limit.channel };
  const turn = limit.group !== undefined && limit.group !== TRANSLATION;
  if (limit.kind === "acceleration") return { kind: turn ? "tool turn acceleration" : "tool acceleration" };
  if (limit.kind === "jerk") return { kind: "tool jerk" };
  return { kind: turn ? "tool turn speed" : "tool speed" };
}

/** τ = M(q)·q' s̈ + (M(q)·q'' + C(q, q')·q') ṡ² + g(q), from three runs of the inverse dynamics. */
function torqueRows(arm: Arm, path: RunPath, load: Load): PathTorque {
  const { n } = arm;
  const [q, q1, q2, q3, none] = Array.from({ length: 5 }, () => new Float64Array(n));
  const weightless = [0, 0, 0] as const;
  const { dynamics, payload, gravity } = load;
  return {
    rows: n,
    limit: arm.torque,
    coefficients(s, a, b, c) {
      path.joints(s, q, q1, q2, q3);
      dynamics.torque(q, none, q1, weightless, payload, a);
      dynamics.torque(q, q1, q2, weightless, payload, b);
      dynamics.torque(q, none, none, gravity, payload, c);
    },
  };
}
