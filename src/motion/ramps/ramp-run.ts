/** Timing of a run by the quick law of levels and ramps. */
import type { Arm } from "../../arm/model.ts";
import type { RunPath } from "../path/run-path.ts";
import type { RunStretch } from "../time-path-run.ts";
import { type TimedRun, timeOfValue } from "../timed-run.ts";
import { type Profile, sampleProfile } from "../timing/index.ts";
import type { LimitSpan, ToolLimits } from "../types.ts";
import { type Allowance, createAllowance } from "./allowance.ts";
import { type Level, rampLaw } from "./ramp-law.ts";

/**
 * A run without corners is timed by the quick law if that is longer than its own lower bound by no more than this. The bound
 * is loose: on random lines accepted so, the law was at most 1.5 % longer than the optimum found numerically (arcs and joint segments 2 %), 0 to 0.5 % in the median.
 */
const GIVEN_AWAY = 1.05;
/** Part of a rounded corner, about its middle, that is run at constant path speed. */
const STEADY_PART = 0.6;
const SPAN_POINTS = [0.01, 0.25, 0.5, 0.75, 0.99];

/** Timing of a single line or arc; undefined where the quick law would give away too much. */
export function timeRampRun(
  arm: Arm,
  path: RunPath,
  stretches: readonly RunStretch[],
  tool: ToolLimits,
): TimedRun | undefined {
  if (path.pieces.length !== 1) return undefined;
  const allowance = createAllowance(arm, path, stretches, tool);
  const found = rampLaw(path, allowance, []);
  if (found === undefined || found.law.duration > GIVEN_AWAY * found.bound) return undefined;
  return runOf(found.law, path, allowance);
}

/**
 * Timing of a run with stretches of constant tool speed: each is entered and left through its corners at that speed, the path
 * speed changing in the segments before and after. Undefined where that cannot be.
 */
export function timeSteadyRun(
  arm: Arm,
  path: RunPath,
  stretches: readonly RunStretch[],
  tool: ToolLimits,
): TimedRun | undefined {
  const allowance = createAllowance(arm, path, stretches, tool);
  const levels: Level[] = [];
  path.pieces.forEach((piece, k) => {
    const from = path.starts[k];
    const to = path.starts[k + 1];
    const owner = stretches.find((stretch) => stretch.speed.constant && touches(stretch, from, to));
    if (owner !== undefined) {
      const inside = path.pieces.findIndex((p, i) => !p.corner && path.starts[i] === owner.steadyFrom);
      const travel = path.pieces[inside]?.tool?.travel ?? 0;
      if (!(travel > 0)) return;
      levels.push({ from, to, speed: owner.speed.toolSpeed / travel, fixed: true });
    } else if (piece.corner) {
      const half = (STEADY_PART * (to - from)) / 2;
      const middle = (from + to) / 2;
      levels.push({ from: middle - half, to: middle + half, speed: Number.POSITIVE_INFINITY, fixed: false });
    }
  });
  const joined = join(levels);
  const found = joined && rampLaw(path, allowance, joined);
  return found && runOf(found.law, path, allowance);
}

/** Whether a piece is the steady part of a stretch or a corner at one of its ends. */
function touches(stretch: RunStretch, from: number, to: number): boolean {
  const near = 1e-9 * (1 + to);
  return to >= stretch.steadyFrom - near && from <= stretch.steadyTo + near;
}

/** Neighbouring fixed levels of one speed as one; undefined where two speeds meet. */
function join(levels: readonly Level[]): Level[] | undefined {
  const out: Level[] = [];
  for (const level of levels) {
    const last = out.at(-1);
    if (last === undefined || level.from > last.to + 1e-12) {
      out.push(level);
      continue;
    }
    if (!last.fixed || !level.fixed || Math.abs(last.speed - level.speed) > 1e-12 * level.speed) return undefined;
    out[out.length - 1] = { ...last, to: level.to };
  }
  return out;
}

function runOf(law: Profile, path: RunPath, allowance: Allowance): TimedRun {
  let spans: readonly LimitSpan[] | undefined;
  return {
    duration: law.duration,
    at: (time, out) => sampleProfile(law, time, out),
    timeAt: (s) => timeOfValue(law, s),
    get limits() {
      spans ??= spansOf(law, path, allowance);
      return spans;
    },
    kinks: law.starts,
  };
}

/** For each phase of the law, the limit that it uses most. */
function spansOf(law: Profile, path: RunPath, allowance: Allowance): LimitSpan[] {
  const spans: LimitSpan[] = [];
  const state = new Float64Array(4);
  for (let k = 0; k + 1 < law.starts.length; k++) {
    const from = law.starts[k];
    const to = law.starts[k + 1];
    let found: ReturnType<Allowance["most"]> | undefined;
    for (const share of SPAN_POINTS) {
      sampleProfile(law, from + share * (to - from), state);
      allowance.load(Math.min(path.length, Math.max(0, state[0])));
      const here = allowance.most(state[1], state[2], state[3]);
      if (found === undefined || here.use > found.use) found = here;
    }
    const { kind, joint } = found!;
    const last = spans.at(-1);
    if (last !== undefined && last.kind === kind && last.joint === joint) spans[spans.length - 1] = { ...last, to };
    else spans.push({ from, to, kind, ...(joint === undefined ? {} : { joint }) });
  }
  return spans;
}
