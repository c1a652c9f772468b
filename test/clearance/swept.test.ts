import { describe, expect, it } from "vitest";
import { type Arm, buildArm } from "../../src/arm/index.ts";
import type { ArmDescription } from "../../src/cell/index.ts";
import {
  createSweptScene,
  distance,
  newDistance,
  type Slide,
  type SweptBody,
  type SweptMotion,
} from "../../src/clearance/index.ts";
import { compose, identityPose, type Pose } from "../../src/math/index.ts";
import { mulberry32, randomArm, randomDirection, randomPose } from "../arms/random.ts";
import { kinds, randomPlace, randomSample } from "./random-bodies.ts";
import { carrierFrames, makeSlide, ownerAt, sampledMinimum, sineMotion, splineMotion } from "./swept-motions.ts";

const TOLERANCE = 0.0005;
const RATE = 10_000;

interface Case {
  readonly description: ArmDescription;
  readonly arm: Arm;
  readonly bodies: SweptBody[];
  readonly slides: Slide[];
  readonly owners: ((share: number) => Pose)[];
  readonly pairs: [number, number][];
  readonly motion: SweptMotion;
}

/** A random arm with bodies on it, around it and on slides, and a random motion of at most `longest` seconds. */
function randomCase(random: () => number, slides: number, longest: number): Case {
  const description = randomArm(random);
  const arm = buildArm(description);
  const { n } = arm;
  const some = () => randomSample(kinds[Math.floor(kinds.length * random())]!, random).body;
  const bodies: SweptBody[] = [];
  for (let i = 0; i < 4; i++)
    bodies.push({ body: some(), frame: Math.floor((n + 1) * random()), frameFromBody: randomPlace(random, 0.2) });
  for (let i = 0; i < 3; i++) bodies.push({ body: some(), frame: -1, frameFromBody: randomPlace(random, 1.5) });
  const made = Array.from({ length: slides }, () => {
    const axis = randomDirection(random),
      angle = random() < 0.3 ? 0 : 3 * random(),
      shift = random() < 0.3 ? [0, 0, 0] : randomDirection(random).map((v) => 0.8 * random() * v);
    const slide = makeSlide(randomPlace(random, 1), shift, axis, angle);
    return { slide, owner: (share: number) => ownerAt(slide, axis, angle, share) };
  });
  for (let k = 0; k < slides; k++)
    bodies.push({ body: some(), frame: -1, frameFromBody: randomPlace(random, 0.3), slide: k });
  const isFixed = (i: number) => bodies[i]!.frame < 0 && bodies[i]!.slide === undefined;
  const pairs: [number, number][] = [];
  for (let i = 0; i < bodies.length; i++)
    for (let j = 0; j < i; j++) if (!(isFixed(i) && isFixed(j))) pairs.push(random() < 0.5 ? [i, j] : [j, i]);
  const kind = random() < 0.5 ? sineMotion : splineMotion;
  const motion = kind(n, longest * (0.2 + 0.8 * random()), random, 0.2 + 2 * random());
  return {
    description,
    arm,
    bodies,
    slides: made.map(({ slide }) => slide),
    owners: made.map(({ owner }) => owner),
    pairs,
    motion,
  };
}

/** Signed distance of a pair at a place that the scene told. */
function measuredAt(
  { arm, bodies, owners, pairs, motion }: Case,
  pair: number,
  time: number,
  shares: readonly number[],
): number {
  const q = new Float64Array(arm.n);
  motion.position(time, q);
  const frames = carrierFrames(arm, q, new Float64Array(12 * (arm.n + 1)));
  let next = 0;
  const used = new Map<number, number>();
  const poseOf = ({ frame, frameFromBody, slide }: SweptBody) => {
    const carrier = identityPose();
    if (frame >= 0) carrier.set(frames.subarray(12 * frame, 12 * frame + 12));
    if (slide === undefined) return compose(carrier, frameFromBody);
    if (!used.has(slide)) used.set(slide, shares[next++]!);
    return compose(owners[slide]!(used.get(slide)!), frameFromBody);
  };
  const [a, b] = pairs[pair]!.map((i) => bodies[i]!) as [SweptBody, SweptBody];
  const first = poseOf(a),
    second = poseOf(b);
  return distance(a.body, first, b.body, second, newDistance());
}

const withoutOverlap = (all: Case): Case => {
  // Pairs that overlap at the start would decide everything: bodies of one random arm lie in each other.
  const q = new Float64Array(all.arm.n);
  all.motion.position(0, q);
  const scene = createSweptScene(all.arm, all.bodies, all.slides, all.pairs);
  const among = new Uint8Array(all.pairs.length);
  const kept = all.pairs.filter((_, k) => {
    among.fill(0);
    among[k] = 1;
    return scene.stateMinimum(q, { tolerance: TOLERANCE, among }).lower > 0;
  });
  return { ...all, pairs: kept };
};

const convexOnly = ({ pairs, bodies }: Case) =>
  pairs.filter((pair) => pair.every((i) => bodies[i]!.body.mesh === undefined));

function check(name: string, it: Case, times: number, shares: number): "apart" | "overlap" {
  const scene = createSweptScene(it.arm, it.bodies, it.slides, it.pairs);
  const result = scene.minimum(it.motion, { tolerance: TOLERANCE });
  const sampled = sampledMinimum(it.arm, it.bodies, it.pairs, it.motion, times, it.owners, shares);
  const { lower, upper, pair, time, share, secondShare = 0 } = result;
  if (it.pairs.length === 0) {
    expect(upper, name).toBe(Number.POSITIVE_INFINITY);
    return "apart";
  }
  expect(measuredAt(it, pair, time, [share, secondShare]), name).toBeCloseTo(upper, 9);
  expect(upper - lower, name).toBeLessThanOrEqual(TOLERANCE);
  if (sampled < 0) expect(upper, name).toBeLessThan(TOLERANCE);
  // How deep something lies in a mesh is not searched for.
  const told =
    upper > 0 ? sampled : sampledMinimum(it.arm, it.bodies, convexOnly(it), it.motion, times, it.owners, shares);
  expect(lower, name).toBeLessThanOrEqual(told + 1e-12);
  expect(upper, name).toBeLessThanOrEqual(sampled < 0 ? Math.max(told, 0) + TOLERANCE : sampled + TOLERANCE);
  // What sampling finds, the certificate must not deny; what it grants, sampling must not refute.
  if (sampled < 0) expect(scene.clear(it.motion, 0), name).toBe(false);
  if (lower > 2e-6) {
    expect(scene.clear(it.motion, lower - 1e-6), name).toBe(true);
    expect(scene.clear(it.motion, upper + 1e-6), name).toBe(false);
  }
  return upper > 0 ? "apart" : "overlap";
}

describe("random arms, bodies and motions against sampling at 10 kHz", () => {
  it("fixed surroundings", () => {
    const random = mulberry32(41);
    let apart = 0,
      overlap = 0;
    for (let run = 0; run < 60; run++) {
      const made = withoutOverlap(randomCase(random, 0, 0.06));
      const answer = check(`run ${run}`, made, Math.ceil(RATE * made.motion.duration), 1);
      if (answer === "apart") apart++;
      else overlap++;
    }
    expect(apart).toBeGreaterThan(10);
    expect(overlap).toBeGreaterThan(2);
  });

  it("one slide, anywhere at any time", () => {
    const random = mulberry32(42);
    for (let run = 0; run < 20; run++) check(`run ${run}`, withoutOverlap(randomCase(random, 1, 0.05)), 40, 41);
  });

  it("two slides at equal shares are among what is covered", () => {
    const random = mulberry32(43);
    for (let run = 0; run < 6; run++) {
      const made = withoutOverlap(randomCase(random, 2, 0.03));
      const scene = createSweptScene(made.arm, made.bodies, made.slides, made.pairs);
      const { lower, upper, pair, time, share, secondShare = 0 } = scene.minimum(made.motion, { tolerance: 0.005 });
      const sampled = sampledMinimum(made.arm, made.bodies, made.pairs, made.motion, 40, made.owners, 41);
      expect(lower, `run ${run}`).toBeLessThanOrEqual(sampled + 1e-12);
      expect(upper - lower, `run ${run}`).toBeLessThanOrEqual(0.005);
      expect(measuredAt(made, pair, time, [share, secondShare]), `run ${run}`).toBeCloseTo(upper, 9);
    }
  });
});

it("the spreads of the random motions hold", () => {
  const random = mulberry32(44);
  const q = new Float64Array(3),
    middle = q.slice(),
    spread = q.slice();
  for (let run = 0; run < 100; run++) {
    const motion = (run % 2 ? sineMotion : splineMotion)(3, 1, random, 3);
    const from = random(),
      to = from + (1 - from) * random();
    motion.position((from + to) / 2, middle);
    motion.spread(from, to, spread);
    let over = Number.NEGATIVE_INFINITY;
    for (let k = 0; k <= 500; k++) {
      motion.position(from + ((to - from) * k) / 500, q);
      for (let j = 0; j < 3; j++) over = Math.max(over, Math.abs(q[j]! - middle[j]!) - spread[j]!);
    }
    expect(over, `run ${run}`).toBeLessThanOrEqual(1e-12);
  }
});

it("moving everything together changes nothing", () => {
  const random = mulberry32(45);
  for (let run = 0; run < 15; run++) {
    const it = randomCase(random, 1, 0.1);
    const move = randomPose(random, 1);
    const { joints } = it.description;
    const moved = buildArm({
      ...it.description,
      joints: joints.map((joint, i) =>
        i === 0 ? { ...joint, parentFromJoint: compose(move, joint.parentFromJoint) } : joint,
      ),
    });
    const bodies = it.bodies.map((body) =>
      body.frame < 0 && body.slide === undefined ? { ...body, frameFromBody: compose(move, body.frameFromBody) } : body,
    );
    const slides = it.slides.map(({ baseFromOwnerStart, baseFromOwnerEnd }) => ({
      baseFromOwnerStart: compose(move, baseFromOwnerStart),
      baseFromOwnerEnd: compose(move, baseFromOwnerEnd),
    }));
    const query = { tolerance: 1e-4, enough: 0 };
    const here = createSweptScene(it.arm, it.bodies, it.slides, it.pairs).minimum(it.motion, query);
    const there = createSweptScene(moved, bodies, slides, it.pairs).minimum(it.motion, query);
    if (here.upper < 0) expect(there.upper, `run ${run}`).toBeLessThan(0);
    else {
      expect(there.lower, `run ${run}`).toBeLessThanOrEqual(here.upper + 1e-9);
      expect(here.lower, `run ${run}`).toBeLessThanOrEqual(there.upper + 1e-9);
    }
  }
});
