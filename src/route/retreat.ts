/**
 * Straight ways out of a machine opening.
 *
 * The tool is drawn along a line with its orientation kept until everything that all joints carry is clear of the convex hull
 * of what it is drawn out of: far from an enclosure's walls, but between them, is not outside. Inverse kinematics follows the
 * branch of the pose at the part. Joint values in between are straight in joint space and certified like any route.
 */

import { createInverse, forwardKinematics, type InverseKinematics, nearestSolution } from "../arm/index.ts";
import type { InverseResult } from "../arm/inverse/result.ts";
import { type Body, HULL, hullBody, MESH } from "../clearance/body.ts";
import { newDistance, placedDistance } from "../clearance/distance.ts";
import { ContractError } from "../math/contract-error.ts";
import { compose, identityPose, invert, type Pose } from "../math/pose.ts";
import { unit } from "../math/vectors.ts";
import { EdgeCheck } from "./edge-check.ts";
import { bendBound } from "./edge-motion.ts";
import { jointOutside } from "./joint-range.ts";
import type { Retreat, RetreatOutcome, RetreatRequest } from "./retreat-types.ts";
import { pointRadii, type StandingScene, standScene } from "./standing-scene.ts";
import type { RouteScene } from "./types.ts";

type Vector = readonly [number, number, number];

/** Way of the tool between joint values, m: first try and least. */
const STEP = 0.02;
const LEAST_STEP = 0.0005;
/** Most departure from the line between joint values, m. */
const DEVIATION = 0.0002;
/** Most change of a joint value from one to the next, rad or m: above, the branch is not followed. */
const JUMP = 0.35;
/** To what the stroke is found, m. */
const STROKE = 0.001;
/** Angle, as 1 - cos, below which two directions are one. */
const SAME = 1e-4;

/**
 * Straight ways from the part to outside, ranked. Directions tried: those given, against the tool's z axis, and a spread of
 * others. @throws ContractError if the request is not what RetreatRequest promises
 */
export function suggestRetreats(scene: RouteScene, request: RetreatRequest): RetreatOutcome {
  const { inside, flangeFromTool, directions = [], samples = 32 } = request;
  requireRequest(scene, request);
  const standing = standScene(scene);
  const check = new EdgeCheck(standing);
  const joint = jointOutside(scene.arm, inside);
  if (joint >= 0)
    return {
      ok: false,
      reason: "inside outside limits",
      message: `${scene.arm.jointNames[joint]} is ${inside[joint]}; allowed ${scene.arm.min[joint]} to ${scene.arm.max[joint]}`,
      tried: 0,
    };
  if (!check.stateClear(inside))
    return {
      ok: false,
      reason: "inside not clear",
      message: `two bodies are ${(1000 * check.pairDistance(check.pair)).toFixed(2)} mm apart at the part; ${(1000 * scene.margin).toFixed(2)} mm are asked for`,
      pair: scene.pairs[standing.origin[check.pair]!]!,
      tried: 0,
    };
  const baseFromTool = compose(forwardKinematics(scene.arm, inside, identityPose()), flangeFromTool);
  const back: Vector = [-baseFromTool[2]!, -baseFromTool[6]!, -baseFromTool[10]!];
  const all = distinct([...directions.map(unit), back, ...spread(back, samples)]);
  const line = new Withdrawal(scene, standing, check, request);
  const retreats = all.flatMap((direction) => line.along(baseFromTool, direction) ?? []);
  if (retreats.length === 0)
    return {
      ok: false,
      reason: "no straight way",
      message: `none of ${all.length} directions brings the tool out clear, on the branch at the part and inside the joint limits, within ${(1000 * (request.longest ?? 1)).toFixed(0)} mm`,
      tried: all.length,
    };
  return { ok: true, retreats: ranked(retreats), tried: all.length };
}

/** First those that no other beats in stroke and clearance, then the rest; each shortest first. */
function ranked(retreats: readonly Retreat[]): Retreat[] {
  const sorted = [...retreats].sort((a, b) => a.stroke - b.stroke || b.clearance - a.clearance);
  const best: Retreat[] = [],
    rest: Retreat[] = [];
  let clearance = Number.NEGATIVE_INFINITY;
  for (const retreat of sorted) {
    if (retreat.clearance > clearance) best.push(retreat);
    else rest.push(retreat);
    clearance = Math.max(clearance, retreat.clearance);
  }
  return [...best, ...rest];
}

class Withdrawal {
  private readonly scene: RouteScene;
  private readonly standing: StandingScene;
  private readonly check: EdgeCheck;
  private readonly request: RetreatRequest;
  private readonly inverse: InverseKinematics;
  private readonly result: InverseResult;
  private readonly toolFromFlange: Pose;
  /** Standing bodies that all joints carry. */
  private readonly tool: Int32Array;
  private readonly obstacle: Body;
  private readonly radius: Float64Array;
  private readonly out = newDistance();
  private readonly world = identityPose();

  constructor(scene: RouteScene, standing: StandingScene, check: EdgeCheck, request: RetreatRequest) {
    this.scene = scene;
    this.standing = standing;
    this.check = check;
    this.request = request;
    this.inverse = createInverse(scene.arm);
    this.result = this.inverse.result();
    this.toolFromFlange = invert(request.flangeFromTool);
    const { depth, source } = standing;
    this.tool = Int32Array.from([...depth.keys()].filter((i) => depth[i] === scene.arm.n));
    const from = new Set(request.from);
    this.obstacle = hullBody([...source.keys()].filter((i) => from.has(source[i]!)).flatMap((i) => this.points(i)));
    const { flangeFromTool: t } = request;
    this.radius = pointRadii(scene.arm, [t[3]!, t[7]!, t[11]!]);
  }

  /** The shortest withdrawal along a direction, or undefined when there is none. */
  along(baseFromTool: Pose, direction: Vector): Retreat | undefined {
    const { check, request } = this;
    const { inside, longest = 1 } = request;
    const path: Float64Array[] = [Float64Array.from(inside)];
    let way = 0,
      step = STEP,
      deviation = 0;
    while (way < longest) {
      const q = path.at(-1)!;
      const to = Math.min(way + step, longest);
      const next = this.solve(baseFromTool, direction, to, q);
      const off = next === undefined ? Number.POSITIVE_INFINITY : this.bend(q, next) / 8;
      if (next === undefined || off > DEVIATION || next.some((v, i) => Math.abs(v - q[i]!) > JUMP)) {
        if (step / 2 < LEAST_STEP) return undefined;
        step /= 2;
        continue;
      }
      if (!check.edgeClear(q, next)) return undefined;
      deviation = Math.max(deviation, off);
      if (this.isOut(next)) return this.finish(path, next, baseFromTool, direction, way, to, deviation);
      path.push(next);
      way = to;
      step = Math.min(STEP, 2 * step);
    }
    return undefined;
  }

  /** Halves the last step until the stroke is known. */
  private finish(
    path: Float64Array[],
    last: Float64Array,
    baseFromTool: Pose,
    direction: Vector,
    from: number,
    to: number,
    deviation: number,
  ): Retreat | undefined {
    const { check, scene } = this;
    let end: Float64Array = last,
      low = from,
      high = to;
    while (high - low > STROKE) {
      const middle = (low + high) / 2;
      const q = this.solve(baseFromTool, direction, middle, path.at(-1)!);
      if (q === undefined || !this.isOut(q)) low = middle;
      else {
        end = q;
        high = middle;
      }
    }
    if (end !== last && !check.edgeClear(path.at(-1)!, end)) {
      end = last;
      high = to;
    }
    const whole = [...path, end];
    return {
      direction,
      stroke: high,
      outside: end,
      baseFromTool: compose(forwardKinematics(scene.arm, end, identityPose()), this.request.flangeFromTool),
      path: whole,
      deviation: Math.max(deviation, this.bend(path.at(-1)!, end) / 8),
      clearance: check.leastAlong(whole),
    };
  }

  private solve(baseFromTool: Pose, direction: Vector, way: number, near: Float64Array): Float64Array | undefined {
    const { scene, inverse, result, toolFromFlange } = this;
    const target = Float64Array.from(baseFromTool);
    for (let r = 0; r < 3; r++) target[4 * r + 3]! += way * direction[r]!;
    const q = new Float64Array(scene.arm.n);
    inverse.solve(compose(target, toolFromFlange), result, false);
    return nearestSolution(scene.arm, result, near, q) ? q : undefined;
  }

  private bend(a: Float64Array, b: Float64Array): number {
    return bendBound(this.scene.arm, this.radius, a, b);
  }

  private isOut(q: Float64Array): boolean {
    const { check, tool, obstacle, standing, out, world, request } = this;
    const { free = 0.02 } = request;
    const { state } = check;
    state.moveTo(q);
    for (const i of tool) {
      state.place(i);
      placedDistance(standing.bodies[i]!, state.poses, 12 * i, obstacle, world, 0, free, out, false);
      if (out[0]! < free) return false;
    }
    return true;
  }

  /** Points of which the hull holds a standing body: its corners, or those of a box around it. */
  private points(i: number): Vector[] {
    const { bodies, local } = this.standing;
    const body = bodies[i]!;
    const { kind, cx, cy, cz, ex, ey, ez, radius } = body;
    let inBody: readonly Vector[] = boxCorners([[cx, cy, cz]], ex, ey, ez);
    if (kind === HULL) inBody = Array.from(body.xs, (x, k) => [x, body.ys[k]!, body.zs[k]!] as const);
    else if (kind === MESH) {
      const { vertices } = body.mesh!;
      inBody = Array.from(
        { length: vertices.length / 3 },
        (_, k) => [vertices[3 * k]!, vertices[3 * k + 1]!, vertices[3 * k + 2]!] as const,
      );
    }
    const grown = boxCorners(inBody, radius, radius, radius);
    return grown.map(
      ([x, y, z]) =>
        [0, 4, 8].map((row) => {
          const at = 12 * i + row;
          return local[at]! * x + local[at + 1]! * y + local[at + 2]! * z + local[at + 3]!;
        }) as [number, number, number],
    );
  }
}

function boxCorners(middles: readonly Vector[], x: number, y: number, z: number): readonly Vector[] {
  if (x === 0 && y === 0 && z === 0) return middles;
  return middles.flatMap((m) =>
    Array.from(
      { length: 8 },
      (_, k) => [m[0] + (k & 1 ? x : -x), m[1] + (k & 2 ? y : -y), m[2] + (k & 4 ? z : -z)] as const,
    ),
  );
}

function distinct(directions: readonly Vector[]): Vector[] {
  const kept: Vector[] = [];
  for (const d of directions)
    if (kept.every((other) => 1 - (d[0] * other[0] + d[1] * other[1] + d[2] * other[2]) > SAME)) kept.push(d);
  return kept;
}

/** Directions spread evenly over the half sphere around `axis` (a spiral by the golden angle). */
function spread([ax, ay, az]: Vector, count: number): Vector[] {
  // Two directions across the axis.
  const [sx, sy, sz] = Math.abs(ax) < 0.9 ? [1, 0, 0] : [0, 1, 0];
  const u = unit([ay * sz - az * sy, az * sx - ax * sz, ax * sy - ay * sx]);
  const v: Vector = [ay * u[2] - az * u[1], az * u[0] - ax * u[2], ax * u[1] - ay * u[0]];
  return Array.from({ length: count }, (_, k) => {
    const up = 1 - (k + 0.5) / count,
      out = Math.sqrt(1 - up * up),
      turn = k * Math.PI * (3 - Math.sqrt(5));
    const c = out * Math.cos(turn),
      s = out * Math.sin(turn);
    return [up * ax + c * u[0] + s * v[0], up * ay + c * u[1] + s * v[1], up * az + c * u[2] + s * v[2]] as const;
  });
}

function requireRequest(scene: RouteScene, request: RetreatRequest): void {
  const { inside, from, directions = [], samples = 32, free = 0.02, longest = 1 } = request;
  const { n } = scene.arm;
  if (inside.length !== n)
    throw new ContractError(`suggestRetreats: inside must have ${n} joint values, got ${inside.length}`);
  if (from.length === 0) throw new ContractError("suggestRetreats: from must name at least one body, got none");
  for (const [k, i] of from.entries())
    if (!(i in scene.bodies) || scene.bodies[i]!.frame >= 0)
      throw new ContractError(`suggestRetreats: from[${k}] must name a body that is not on the arm, got ${i}`);
  for (const [k, d] of directions.entries())
    if (!(Math.hypot(...d) > 0 && Math.hypot(...d) < Number.POSITIVE_INFINITY))
      throw new ContractError(`suggestRetreats: directions[${k}] must have a length above 0, got (${d.join(", ")})`);
  if (!(Number.isInteger(samples) && samples >= 0))
    throw new ContractError(`suggestRetreats: samples must be a whole number of at least 0, got ${samples}`);
  if (!(free >= 0 && free < Number.POSITIVE_INFINITY))
    throw new ContractError(`suggestRetreats: free must be finite and at least 0 m, got ${free}`);
  if (!(longest > 0 && longest < Number.POSITIVE_INFINITY))
    throw new ContractError(`suggestRetreats: longest must be finite and above 0 m, got ${longest}`);
}
