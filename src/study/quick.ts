/**
 * The quick look at a layout: the motions of the nominal runs repeated with everything where the layout has it.
 *
 * Reach first: a layout with a target out of reach is not looked at further. Then branches as the check takes them, lines
 * followed in steps, torques, clearance (up to the first overlap met), and last the period: that of the run with the motions'
 * estimated times, each scaled by what the planner needed against the estimate in the present layout.
 */
import {
  branchOf,
  createDynamics,
  createInverse,
  createSingularityMeter,
  forwardKinematics,
  type InverseResult,
  manipulability,
  nearestSolution,
  withinLimits,
} from "../arm/index.ts";
import type { Cell } from "../cell/model.ts";
import { activeTcp, carriedLoad, gravityInBase, resolveTarget } from "../check/index.ts";
import type { MeshLibrary } from "../clearance/index.ts";
import { compose, identityPose, invert, type Pose } from "../math/pose.ts";
import type { LayoutValues } from "./axes.ts";
import { type ClearanceMeter, createClearanceMeter } from "./clearance-meter.ts";
import type { Figures, Verdict } from "./figures.ts";
import { nearestOf, roomOf, sameRow, turnsFar } from "./joint-rows.ts";
import { LegTimer, newEstimate } from "./leg-time.ts";
import { betweenPoses, type PosesBetween } from "./line-pose.ts";
import { BY_ARC, BY_JOINT, type Chain, type Leg, type Replay } from "./replay.ts";
import { standOf } from "./stand.ts";
import type { Study } from "./study.ts";
import { baseShift, varyCell } from "./vary-cell.ts";

/** Lines are followed in steps of at most this length (m) and turn (rad), at least two. */
const LINE_STEP = 0.08;
const LINE_TURN = 0.35;
/**
 * A step in which a joint moves by more is halved, rad (m for a slide); one that still moves it by more after so many halves
 * changes branch.
 */
const FAR_TURN = 0.6;
const MOST_HALVES = 7;
/** Joint motions that are looked at closely are looked at in steps of this much of the joint that moves most, rad. */
const DENSE_STEP = 0.2;
const MOST_DENSE = 12;
/** Share of two joined ramps that a rounded corner saves; the scaling to the planner's times takes up most of its error. */
const ROUNDED = 0.6;
/** Factors between planned and estimated time outside this range tell of another motion, not of another time. */
const LEAST_FACTOR = 0.4;
const MOST_FACTOR = 2.5;

export interface QuickLook {
  /** Figures of one layout. Not reentrant. */
  evaluate(values: LayoutValues): Figures;
}

/** One motion between two joint positions, known for the layout at hand. */
interface Segment {
  readonly ok: boolean;
  readonly time: number;
  readonly rise: number;
  readonly fall: number;
  readonly torque: number;
  /** Joint positions on the way of a line. */
  readonly way: readonly Float64Array[];
  denseDone: boolean;
}

/**
 * @param replay of the cell with the choices (words) of the layouts made that will be asked for
 * @param library meshes of the files that the cell names
 */
export function createQuickLook(study: Study, replay: Replay, library?: MeshLibrary): QuickLook {
  const { cell, arm, targets, kinds, variants } = replay;
  const { n } = arm;
  const inverse = createInverse(arm);
  const singularity = createSingularityMeter(arm);
  const weights = arm.velocity.map((v) => (Number.isFinite(v) ? 1 / (v * v) : 1));
  const results: InverseResult[] = targets.map(() => inverse.result());
  const scratch = inverse.result();
  const stand = standOf(cell, study.stand);
  const clearance = createClearanceMeter(cell, arm, replay.situations, stand, library);
  const torques = arm.hasMasses && arm.torque.some((t) => t < Number.POSITIVE_INFINITY);
  const timer = new LegTimer(
    arm,
    {
      speed: cell.arm.toolSpeed,
      acceleration: cell.arm.toolAcceleration,
      jerk: cell.arm.toolJerk,
      turnSpeed: cell.arm.toolTurnSpeed,
      turnAcceleration: cell.arm.toolTurnAcceleration,
    },
    torques ? createDynamics(arm) : undefined,
  );
  const estimate = newEstimate();
  /** Planned time over estimated time of each chain where the cell stands now; by variant. */
  let factors: readonly Float64Array[] | undefined;

  // Per layout.
  let layout: Cell = cell;
  let flange: Pose[] = [];
  let fixedQ: (Float64Array | undefined)[] = [];
  let tcps: Pose[] = [];
  let loads = kinds.map(({ load }) => load);
  let gravity: readonly [number, number, number] = [0, 0, 0];
  let nodes: Node[] = [];
  let nodesOf: Node[][] = targets.map(() => []);
  let segments = new Map<number, Segment>();
  const varied = new Set(study.axes.filter((axis) => axis.words === undefined).map(({ change }) => change.kind));

  interface Node {
    readonly number: number;
    readonly target: number;
    readonly q: Float64Array;
    /** Situations in which it has been looked at. */
    readonly seen: Set<number>;
  }

  const nodeAt = (target: number, q: Float64Array): Node => {
    const known = target < 0 ? nodes : nodesOf[target]!;
    for (const node of known) if (node.target === target && sameRow(node.q, q)) return node;
    const node: Node = { number: nodes.length, target, q: q.slice(), seen: new Set() };
    nodes.push(node);
    if (target >= 0) nodesOf[target]!.push(node);
    return node;
  };

  /** Places everything; @returns the number of targets out of reach. */
  const place = (values: LayoutValues): number => {
    layout = varyCell(cell, study, values);
    gravity = gravityInBase(layout);
    const baseFromWorld = invert(layout.worldFromBase);
    const anew = flange.length === 0 || varied.has("tray") || varied.has("tcp");
    if (anew) {
      flange = [];
      fixedQ = [];
      worldFlange.length = 0;
      for (const { target, gripper, context } of targets) {
        const { baseFromFlange, joints } = resolveTarget(layout, arm, target, gripper, context);
        flange.push(baseFromFlange);
        fixedQ.push(joints);
        // A pose given by joint values goes where the base goes.
        worldFlange.push(
          isByJoints(layout, target, context.variant) ? undefined : compose(layout.worldFromBase, baseFromFlange),
        );
      }
    } else
      for (let t = 0; t < targets.length; t++) {
        const world = worldFlange[t];
        if (world !== undefined) compose(baseFromWorld, world, flange[t]!);
      }
    if (anew) {
      tcps = kinds.map(({ gripper, held }) => activeTcp(layout, gripper, held));
      loads = kinds.map(({ held }) => carriedLoad(layout, held));
    }
    nodes = [];
    nodesOf = targets.map(() => []);
    segments = new Map();
    let unreachable = 0;
    for (let t = 0; t < targets.length; t++) {
      const joints = fixedQ[t];
      if (joints !== undefined) {
        if (roomOf(arm, joints) < 0) unreachable++;
        continue;
      }
      const result = inverse.solve(flange[t]!, results[t]!, false);
      if (!result.exact || !nearestSolution(arm, result, cell.home, row, weights)) unreachable++;
    }
    return unreachable;
  };
  const worldFlange: (Pose | undefined)[] = [];
  const row = new Float64Array(n);
  const home = Float64Array.from(cell.home);

  /** The node that a leg ends at, coming from `from`; undefined where its branch is not to be had. */
  const endOf = (leg: Leg, from: Float64Array): Node | undefined => {
    const joints = fixedQ[leg.target];
    if (joints !== undefined) return nodeAt(leg.target, joints);
    const result = results[leg.target]!;
    if (leg.sides !== undefined) {
      const { sides } = leg;
      const asked = withinLimits(arm, result, { allTurns: true }).filter((q) => {
        const has = branchOf(singularity, q);
        return (["shoulder", "elbow", "wrist"] as const).every(
          (side) => sides[side] === undefined || sides[side] === has[side],
        );
      });
      const best = nearestOf(asked, from, weights);
      return best === undefined ? undefined : nodeAt(leg.target, best);
    }
    return nearestSolution(arm, result, leg.near ?? from, row, weights) ? nodeAt(leg.target, row) : undefined;
  };

  const segmentOf = (leg: Leg, from: Node): { readonly to: Node; readonly segment: Segment } | undefined => {
    const kind = kinds[leg.kind]!;
    if (kind.by === BY_JOINT) {
      const to = endOf(leg, from.q);
      if (to === undefined) return undefined;
      const key = (from.number * 65536 + to.number) * kinds.length + leg.kind;
      let segment = segments.get(key);
      if (segment === undefined) {
        timer.joint(from.q, to.q, kind, tcps[leg.kind]!, loads[leg.kind], gravity, estimate);
        segment = { ok: true, ...estimate, way: [], denseDone: false };
        segments.set(key, segment);
      }
      return { to, segment };
    }
    // Along a line the end follows from the way: found by start and target.
    const key = -1 - ((from.number * 65536 + leg.target) * kinds.length + leg.kind);
    const known = segments.get(key);
    const to = ends.get(key);
    if (known !== undefined && to !== undefined) return { to, segment: known };
    const followed = follow(leg, from);
    if (followed === undefined) return undefined;
    segments.set(key, followed.segment);
    ends.set(key, followed.to);
    return followed;
  };
  const ends = new Map<number, Node>();

  const follow = (leg: Leg, from: Node): { readonly to: Node; readonly segment: Segment } | undefined => {
    const kind = kinds[leg.kind]!;
    const tcp = tcps[leg.kind]!;
    const fromTcp = invert(tcp);
    const start = compose(
      from.target >= 0 ? flange[from.target]! : forwardKinematics(arm, from.q, identityPose()),
      tcp,
    );
    const end = compose(flange[leg.target]!, tcp);
    const stops = kind.by === BY_ARC ? [start, compose(flange[kind.via]!, tcp), end] : [start, end];
    const way: Float64Array[] = [];
    let at = from.q;
    let length = 0;
    let angle = 0;
    let ok = true;
    let lastPiece: PosesBetween | undefined;
    let lastShare = 0;
    /** Goes on from one share of a piece to another, in halves where a joint turns far; false where it cannot. */
    const advance = (piece: PosesBetween, tcp: Pose, begin: number, share: number, depth: number): boolean => {
      const q = new Float64Array(n);
      inverse.solve(compose(piece.at(share), tcp), scratch, false);
      if (!scratch.exact || !nearestSolution(arm, scratch, at, q, weights)) return false;
      if (turnsFar(at, q, FAR_TURN)) {
        if (depth === MOST_HALVES) return false;
        const middle = 0.5 * (begin + share);
        return advance(piece, tcp, begin, middle, depth + 1) && advance(piece, tcp, middle, share, depth + 1);
      }
      way.push(q);
      at = q;
      return true;
    };
    for (let s = 0; s + 1 < stops.length; s++) {
      const piece = betweenPoses(stops[s]!, stops[s + 1]!);
      length += piece.length;
      angle += piece.angle;
      const last = s + 2 === stops.length;
      const steps = Math.max(2, Math.ceil(piece.length / LINE_STEP), Math.ceil(piece.angle / LINE_TURN));
      for (let k = 1; k <= steps - (last ? 1 : 0) && ok; k++)
        ok = advance(piece, fromTcp, (k - 1) / steps, k / steps, 0);
      lastPiece = piece;
      lastShare = (steps - 1) / steps;
    }
    let to = endOf({ ...leg, near: undefined }, at);
    if (to === undefined) return undefined;
    // The last step to the target itself, more closely where it turns a joint far.
    if (ok && turnsFar(at, to.q, FAR_TURN)) {
      ok =
        advance(lastPiece!, fromTcp, lastShare, 0.5 * (lastShare + 1), 1) &&
        advance(lastPiece!, fromTcp, 0.5 * (lastShare + 1), 1 - 1e-6, 1);
      to = endOf({ ...leg, near: undefined }, at);
      if (to === undefined || turnsFar(at, to.q, FAR_TURN)) ok = false;
      if (to === undefined) return undefined;
    }
    timer.line(from.q, to.q, length, angle, kind, loads[leg.kind], gravity, estimate);
    return { to, segment: { ok, ...estimate, way, denseDone: false } };
  };

  /** Time of a chain whose legs are known, s. */
  const chainTime = (legs: readonly Leg[], times: readonly Segment[]): number => {
    let time = 0;
    for (let i = 0; i < times.length; i++) {
      time += times[i]!.time;
      if (legs[i]!.blended && i + 1 < times.length) time -= ROUNDED * 0.5 * (times[i]!.fall + times[i + 1]!.rise);
    }
    return Math.max(time, 0);
  };

  const look = (values: LayoutValues, calibrate: boolean): Figures => {
    const figures = {
      verdict: "works" as Verdict,
      unreachable: place(values),
      targets: targets.length,
      cycle_s: Number.NaN,
      clearance_m: Number.NaN,
      armClearance_m: Number.NaN,
      clearancePair: undefined as readonly [string, string] | undefined,
      clearanceStep: undefined as string | undefined,
      jointMargin_rad: Number.NaN,
      manipulability: Number.NaN,
      torqueShare: Number.NaN,
    };
    if (figures.unreachable > 0 && !calibrate) return { ...figures, verdict: "out of reach" };
    ends.clear();
    clearance.begin(layout, baseShift(study.axes, values));
    const inTheWay = clearance.standing();
    if (inTheWay !== undefined && !calibrate)
      return { ...figures, verdict: "collides", clearance_m: inTheWay.distance, clearancePair: inTheWay.pair };

    // The way of every variant through the nodes.
    let lost = 0;
    const walks: Walk[][] = [];
    for (const { chains } of variants) {
      let at = nodeAt(-1, home);
      const walk: Walk[] = [];
      for (const { legs } of chains) {
        const made: Segment[] = [];
        const froms: Node[] = [];
        const tos: Node[] = [];
        for (const leg of legs) {
          if (fixedQ[leg.target] === undefined && !results[leg.target]!.exact) continue;
          const step = segmentOf(leg, at);
          if (step === undefined || !step.segment.ok) {
            lost++;
            if (!calibrate) return { ...figures, verdict: "line not followed" };
          }
          if (step === undefined) continue;
          made.push(step.segment);
          froms.push(at);
          tos.push(step.to);
          at = step.to;
        }
        walk.push({ legs, made, froms, tos });
      }
      walks.push(walk);
    }
    if (lost > 0 && figures.unreachable === 0) figures.verdict = "line not followed";
    if (figures.unreachable > 0) figures.verdict = "out of reach";

    let margin = Number.POSITIVE_INFINITY;
    let dexterity = Number.POSITIVE_INFINITY;
    for (const { q, target } of nodes) {
      if (target < 0) continue;
      margin = Math.min(margin, roomOf(arm, q));
      dexterity = Math.min(dexterity, manipulability(arm, q));
    }
    figures.jointMargin_rad = finite(margin);
    figures.manipulability = finite(dexterity);
    let torque = 0;
    for (const { torque: share } of segments.values()) torque = Math.max(torque, share);
    figures.torqueShare = torque > 0 ? torque : Number.NaN;
    if (torque > 1 && figures.verdict === "works") figures.verdict = "torque";
    if (figures.verdict !== "works" && !calibrate) return figures;

    measureClearance(walks.flat(), figures);
    if (figures.clearance_m < 0 && figures.verdict === "works") figures.verdict = "collides";
    figures.cycle_s = cycleOf(walks);
    if (calibrate) {
      factors = walks.map((chains, v) => factorsOf(variants[v]!.chains, chains, chainTime));
      figures.cycle_s = cycleOf(walks);
    }
    return figures;
  };

  type Walk = { legs: readonly Leg[]; made: readonly Segment[]; froms: readonly Node[]; tos: readonly Node[] };

  const measureClearance = (
    chains: readonly Walk[],
    figures: {
      clearance_m: number;
      armClearance_m: number;
      clearancePair: readonly [string, string] | undefined;
      clearanceStep: string | undefined;
    },
  ): void => {
    const meter: ClearanceMeter = clearance;
    const note = (leg: Leg) => {
      const { all, links } = meter;
      if (figures.clearance_m !== all.distance) figures.clearanceStep = leg.stepId;
      figures.clearance_m = all.distance;
      figures.clearancePair = all.pair;
      figures.armClearance_m = finite(links.distance);
    };
    const at = (leg: Leg, q: Float64Array) => {
      if (meter.look(kinds[leg.kind]!.situation, q)) note(leg);
    };
    // Where motions begin and end, then the lines, then the joint motions that are looked at closely.
    for (const { legs, made, froms, tos } of chains)
      for (let i = 0; i < made.length; i++) {
        const leg = legs[i]!;
        const { situation } = kinds[leg.kind]!;
        for (const node of [froms[i]!, tos[i]!]) {
          if (node.seen.has(situation)) continue;
          node.seen.add(situation);
          at(leg, node.q);
          if (meter.all.distance < 0) return;
        }
      }
    for (const { legs, made } of chains)
      for (let i = 0; i < made.length; i++) {
        const segment = made[i]!;
        if (segment.way.length === 0 || segment.denseDone) continue;
        segment.denseDone = true;
        for (const q of segment.way) at(legs[i]!, q);
        if (meter.all.distance < 0) return;
      }
    for (const { legs, made, froms, tos } of chains)
      for (let i = 0; i < made.length; i++) {
        const segment = made[i]!;
        const leg = legs[i]!;
        if (!leg.dense || segment.denseDone) continue;
        segment.denseDone = true;
        const [a, b] = [froms[i]!.q, tos[i]!.q];
        let most = 0;
        for (let k = 0; k < n; k++) most = Math.max(most, Math.abs(b[k]! - a[k]!));
        const steps = Math.min(MOST_DENSE, Math.ceil(most / DENSE_STEP));
        for (let s = 1; s < steps; s++) {
          for (let k = 0; k < n; k++) row[k] = a[k]! + (s / steps) * (b[k]! - a[k]!);
          at(leg, row);
          if (meter.all.distance < 0) return;
        }
      }
  };

  const cycleOf = (walks: readonly (readonly Walk[])[]): number => {
    let sum = 0;
    for (const [v, { chains, share, activities, retiming, presses }] of variants.entries()) {
      if (retiming === undefined) return Number.NaN;
      const work = new Float64Array(activities).fill(Number.NaN);
      for (const { activity, time } of presses) work[activity] = time;
      for (const [c, { legs }] of chains.entries()) {
        const { made } = walks[v]![c]!;
        const time = chainTime(legs, made) * (factors?.[v]?.[c] ?? 1);
        // The chain runs without a gap: its whole time may stand with its first activity.
        for (const [i, leg] of legs.entries()) work[leg.activity] = i === 0 ? time : 0;
      }
      sum += share * retiming.period(work);
    }
    return sum;
  };

  return {
    evaluate(values) {
      if (factors === undefined) {
        const present = new Float64Array(values.length).fill(Number.NaN);
        look(present, true);
      }
      return look(values, false);
    },
  };
}

/** Planned over estimated time of each chain; chains without either take the median of the others. */
function factorsOf(
  chains: readonly Chain[],
  walks: readonly { readonly legs: readonly Leg[]; readonly made: readonly Segment[] }[],
  chainTime: (legs: readonly Leg[], made: readonly Segment[]) => number,
): Float64Array {
  const factors = new Float64Array(chains.length).fill(Number.NaN);
  for (const [c, { duration, legs }] of chains.entries()) {
    const { made } = walks[c]!;
    const time = chainTime(legs, made);
    if (made.length < legs.length || !(time > 0) || !(duration > 0)) continue;
    const factor = duration / time;
    if (factor >= LEAST_FACTOR && factor <= MOST_FACTOR) factors[c] = factor;
  }
  const known = factors.filter((factor) => !Number.isNaN(factor)).sort();
  const median = known.length === 0 ? 1 : known[known.length >> 1]!;
  return factors.map((factor) => (Number.isNaN(factor) ? median : factor));
}

const finite = (value: number): number => (Number.isFinite(value) ? value : Number.NaN);

function isByJoints(
  cell: Cell,
  target: { kind: string; at: { default?: string; variants: ReadonlyMap<string, string> } },
  variant: string,
): boolean {
  if (target.kind !== "pose") return false;
  const name = target.at.variants.get(variant) ?? target.at.default;
  return name !== undefined && cell.poses.get(name)?.target.kind === "joints";
}
