/**
 * A route scene as the checks see it: bodies in the chain frames of the arm, slides covered by bodies that stand still, and
 * the bounds of how fast a body can move. Everything that does not depend on joint values.
 */
import { splitTurn } from "../arm/chain.ts";
import type { Arm } from "../arm/model.ts";
import { BOX, type Body, MESH, sphereBody } from "../clearance/body.ts";
import { multiply } from "../clearance/frames.ts";
import { ContractError } from "../math/contract-error.ts";
import { coverSlide } from "./slide-cover.ts";
import type { RouteScene } from "./types.ts";

export interface StandingScene {
  readonly arm: Arm;
  readonly margin: number;
  readonly bodies: readonly Body[];
  /** What each one surely takes up; smaller than the body where that covers a piece of a slide. */
  readonly within: readonly Body[];
  /** Index of the scene's body that each one stands for. */
  readonly source: Int32Array;
  /** Number of joints that move it: 0 for a fixed body. It is carried by chain frame depth - 1. */
  readonly depth: Int32Array;
  /** Place in that chain frame, or in base axes; 12 numbers each. */
  readonly local: Float64Array;
  /** Pairs, the one moved by fewer joints first, in the order in which they are best tried; fixed ones left out. */
  readonly first: Int32Array;
  readonly second: Int32Array;
  /** The scene's pair that each one stands for. */
  readonly origin: Int32Array;
  /** Of each pair the body and the joints between: pairs with the same ones share their bounds of travel. */
  readonly group: Int32Array;
  readonly groups: readonly Group[];
  /** Pairs that no joint moves against each other. */
  readonly rigid: readonly StandingPair[];
}

export interface StandingPair {
  readonly a: number;
  readonly b: number;
  readonly origin: number;
}

/** A body moved by the joints `from` to `to` - 1 against another one. */
export interface Group {
  readonly body: number;
  readonly from: number;
  readonly to: number;
  /** Per joint of the arm: farthest that any point of the body's core is from its axis, m, sliding joints at 0. */
  readonly radius: Float64Array;
}

/** @throws ContractError if a frame, slide or pair names nothing, or the margin is not finite and at least 0 */
export function standScene(scene: RouteScene): StandingScene {
  const { arm, margin } = scene;
  if (!(margin >= 0 && margin < Number.POSITIVE_INFINITY))
    throw new ContractError(`createRouter: scene.margin must be finite and at least 0 m, got ${margin}`);
  const { n } = arm;
  const bodies: Body[] = [],
    within: Body[] = [],
    source: number[] = [],
    depth: number[] = [],
    places: Float64Array[] = [],
    pieces: number[][] = [];
  for (const [i, { body, frame, frameFromBody, slide }] of scene.bodies.entries()) {
    if (!(Number.isInteger(frame) && frame >= -1 && frame <= n))
      throw new ContractError(`createRouter: bodies[${i}].frame must be -1 to ${n}, got ${frame}`);
    if (slide !== undefined && (frame !== -1 || !(slide in scene.slides)))
      throw new ContractError(
        `createRouter: bodies[${i}].slide must be below ${scene.slides.length}, with frame -1; got ${slide}, frame ${frame}`,
      );
    const standing =
      slide === undefined
        ? [{ body, within: body, baseFromBody: frameFromBody }]
        : coverSlide(body, frameFromBody, scene.slides[slide]!);
    pieces.push(
      standing.map((one) => {
        bodies.push(one.body);
        within.push(one.within);
        source.push(i);
        depth.push(frame < 0 ? 0 : Math.min(frame + 1, n));
        places.push(frame < 0 ? one.baseFromBody : inChainFrame(arm, frame, one.baseFromBody));
        return bodies.length - 1;
      }),
    );
  }
  const pairs: StandingPair[] = [],
    rigid: StandingPair[] = [];
  for (const [k, [i, j]] of scene.pairs.entries()) {
    if (!(i in pieces && j in pieces && i !== j))
      throw new ContractError(
        `createRouter: pairs[${k}] must name two bodies below ${scene.bodies.length}, got ${i}, ${j}`,
      );
    for (const a of pieces[i]!)
      for (const b of pieces[j]!) {
        const pair = depth[a]! <= depth[b]! ? { a, b, origin: k } : { a: b, b: a, origin: k };
        (depth[a] === depth[b] ? rigid : pairs).push(pair);
      }
  }
  // Meshes last: an overlap found before saves them. Far links first: they meet most.
  const isDear = ({ a, b }: StandingPair) => (bodies[a]!.kind === MESH || bodies[b]!.kind === MESH ? 1 : 0);
  pairs.sort((p, q) => isDear(p) - isDear(q) || depth[q.b]! - depth[p.b]! || p.b - q.b || p.a - q.a);
  const groups: Group[] = [];
  const groupOf = new Map<string, number>();
  const group = pairs.map(({ a, b }) => {
    const key = `${depth[a]} ${b}`;
    let index = groupOf.get(key);
    if (index === undefined) {
      index = groups.length;
      groupOf.set(key, index);
      groups.push({ body: b, from: depth[a]!, to: depth[b]!, radius: radii(arm, bodies[b]!, places[b]!, depth[b]!) });
    }
    return index;
  });
  const local = new Float64Array(12 * bodies.length);
  for (const [i, place] of places.entries()) local.set(place.subarray(0, 12), 12 * i);
  return {
    arm,
    margin,
    bodies,
    within,
    source: Int32Array.from(source),
    depth: Int32Array.from(depth),
    local,
    first: Int32Array.from(pairs, ({ a }) => a),
    second: Int32Array.from(pairs, ({ b }) => b),
    origin: Int32Array.from(pairs, ({ origin }) => origin),
    group: Int32Array.from(group),
    groups,
    rigid,
  };
}

/** Place in chain frame min(frame, n - 1) of a body stated in the description's link frame, or in the flange. */
function inChainFrame(arm: Arm, frame: number, frameFromBody: Float64Array): Float64Array {
  const { n, fixed, describedFromKernel } = arm;
  const kernelFromFrame = new Float64Array(12);
  if (frame === n) kernelFromFrame.set(fixed.subarray(12 * n, 12 * n + 12));
  else
    for (let r = 0; r < 3; r++)
      for (let c = 0; c < 3; c++) kernelFromFrame[4 * r + c] = describedFromKernel[9 * frame + 3 * c + r]!;
  const inKernel = new Float64Array(12);
  multiply(kernelFromFrame, 0, frameFromBody, 0, inKernel, 0);
  const gamma = frame + 1 < n ? splitTurn(fixed, 12 * (frame + 1)).gamma : 0;
  const c = Math.cos(gamma),
    s = Math.sin(gamma);
  const out = new Float64Array(12);
  multiply(Float64Array.of(c, s, 0, 0, -s, c, 0, 0, 0, 0, 1, 0), 0, inKernel, 0, out, 0);
  return out;
}

/** Per joint the farthest that a point of the body's core can be from its axis, sliding joints counted as standing at 0. */
function radii(arm: Arm, body: Body, local: Float64Array, depth: number): Float64Array {
  const { n, chain } = arm;
  const out = new Float64Array(n);
  const middle = [0, 4, 8].map(
    (r) => local[r]! * body.cx + local[r + 1]! * body.cy + local[r + 2]! * body.cz + local[r + 3]!,
  );
  const core = coreRadius(body);
  // Around the last axis; then origin by origin inwards.
  let reach = Math.hypot(...middle) + core;
  out[depth - 1] = Math.hypot(middle[0]!, middle[1]!) + core;
  for (let k = depth - 2; k >= 0; k--) {
    const at = 6 * (k + 1);
    const px = chain[at + 2]!,
      py = chain[at + 3]!,
      pz = chain[at + 4]!;
    out[k] = Math.hypot(px, py) + reach;
    reach += Math.hypot(px, py, pz);
  }
  return out;
}

/** Per joint the farthest that a point fixed to the flange (m, flange axes) can be from its axis. */
export function pointRadii(arm: Arm, point: readonly [number, number, number]): Float64Array {
  const place = inChainFrame(arm, arm.n, Float64Array.of(1, 0, 0, point[0], 0, 1, 0, point[1], 0, 0, 1, point[2]));
  return radii(arm, { ...sphereBody(1), radius: 0, bound: 0 }, place, arm.n);
}

/** Radius of a ball about the core's middle that holds the core. */
export function coreRadius(body: Body): number {
  return body.kind > BOX ? body.bound - body.radius : Math.hypot(body.hx, body.hy, body.hz);
}
