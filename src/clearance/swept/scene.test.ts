import { describe, expect, it } from "vitest";
import { describeDh } from "../../../test/arms/describe.ts";
import { mulberry32, randomArm, randomPose } from "../../../test/arms/random.ts";
import { fixedBody, makeSlide } from "../../../test/clearance/swept-motions.ts";
import { buildArm } from "../../arm/index.ts";
import { identityPose, rotationAbout, translation } from "../../math/index.ts";
import {
  boxBody,
  capsuleBody,
  createSweptScene,
  cylinderBody,
  hullBody,
  meshBody,
  type SweptBody,
  type SweptMotion,
  sphereBody,
  standing,
  straightMotion,
} from "../index.ts";

const still = { a: 0, alpha: 0, d: 0 };
/** Three joints about z through the base's origin; the flange lies there too. */
const turntable = buildArm(describeDh("turntable", [still, still, still]));
/** A capsule that reaches from the axis along x, 1 m between the centres of its ends. */
const pointer = (radius: number): SweptBody => ({
  body: capsuleBody(radius, 1),
  frame: 3,
  frameFromBody: Float64Array.of(0, 0, 1, 0.5, 0, 1, 0, 0, -1, 0, 0, 0, 0, 0, 0, 1),
});
const tight = { tolerance: 1e-6 };

describe("closed forms", () => {
  it("a turning capsule passes a sphere", () => {
    // Swept over the plane the tip is a circle of radius 1; the sphere stands 0.3 above at (0.8, 0.6).
    const ball = fixedBody(sphereBody(0.05), translation(0.8 * 1.2, 0.6 * 1.2, 0.3));
    const scene = createSweptScene(turntable, [pointer(0.1), ball], [], [[0, 1]]);
    const result = scene.minimum(straightMotion([-1, 0, 0], [2, 0, 0]), tight);
    const truth = Math.hypot(0.2, 0.3) - 0.15;
    expect(result.upper).toBeGreaterThanOrEqual(truth - 1e-12);
    expect(result.lower).toBeLessThanOrEqual(truth);
    expect(result.upper - result.lower).toBeLessThanOrEqual(1e-6);
    // -1 + 3 t is the direction of the sphere.
    expect(-1 + 3 * result.time).toBeCloseTo(Math.atan2(0.6, 0.8), 2);
    expect(result.pair).toBe(0);
    expect(result.witness[4]).toBeCloseTo(0.96 - (0.05 * 0.8 * 0.2) / Math.hypot(0.2, 0.3), 3);
  });

  it("only the joints between two bodies of the arm count", () => {
    // Joint 1 turns both: their distance does not change, and one look settles the motion.
    const arm = buildArm(describeDh("elbow", [{ ...still, a: 1 }, { ...still, a: 1 }, still]));
    const bodies: SweptBody[] = [
      { body: sphereBody(0.1), frame: 0, frameFromBody: identityPose() },
      { body: sphereBody(0.1), frame: 3, frameFromBody: identityPose() },
    ];
    const scene = createSweptScene(arm, bodies, [], [[0, 1]]);
    const first = scene.minimum(straightMotion([-3, 0.5, 0], [3, 0.5, 0]), tight);
    expect(first.states).toBeLessThanOrEqual(3);
    expect(first.upper - first.lower).toBeLessThan(1e-8);
    const both = scene.minimum(straightMotion([-3, -0.4, 0], [3, 3, 0]), tight);
    // Flange at distance 2 cos(q2 / 2) from the first joint, where frame 1's body is, or at its end, as the convention says.
    const apart = createSweptScene(arm, bodies, [], [[0, 1]]).stateMinimum([0, 3, 0], tight).upper;
    expect(Math.abs(both.upper - apart)).toBeLessThanOrEqual(1e-6);
  });

  it("a door that slides past a body at rest", () => {
    const slide = makeSlide(translation(-1, 0, 0), [2, 0, 0], [0, 0, 1], 0);
    const door: SweptBody = { body: boxBody([0.2, 0.01, 0.4]), frame: -1, frameFromBody: identityPose(), slide: 0 };
    const post = fixedBody(sphereBody(0.02), translation(0.3, 0.1, 0));
    const scene = createSweptScene(turntable, [door, post], [slide], [[0, 1]]);
    const result = scene.stateMinimum([0, 0, 0], tight);
    const truth = 0.1 - 0.02 - 0.005;
    expect(result.lower).toBeLessThanOrEqual(truth);
    expect(result.upper).toBeGreaterThanOrEqual(truth - 1e-12);
    expect(result.upper - result.lower).toBeLessThanOrEqual(1e-6);
    // Anywhere with the sphere in front of the door's face: x of the door within 0.1 of 0.3.
    expect(Math.abs(-1 + 2 * result.share - 0.3)).toBeLessThanOrEqual(0.1 + 1e-6);
  });

  it("a door that swings: the far edge of a turning box passes a post", () => {
    const slide = makeSlide(identityPose(), [0, 0, 0], [0, 0, 1], Math.PI / 2);
    const leaf: SweptBody = { body: boxBody([1, 0.02, 1]), frame: -1, frameFromBody: translation(0.5, 0, 0), slide: 0 };
    const post = fixedBody(cylinderBody(0.05, 2), translation(0.9, 0.9, 0));
    const scene = createSweptScene(turntable, [leaf, post], [slide], [[0, 1]]);
    const result = scene.stateMinimum([0, 0, 0], tight);
    const truth = Math.hypot(0.9, 0.9) - 0.05 - Math.hypot(1, 0.01);
    expect(result.lower).toBeLessThanOrEqual(truth + 1e-9);
    expect(result.upper).toBeGreaterThanOrEqual(truth - 1e-9);
    expect(result.upper - result.lower).toBeLessThanOrEqual(1e-6);
  });

  it("two slides against each other: every place of one with every place of the other", () => {
    const across = makeSlide(translation(-1, 0, 0), [2, 0, 0], [0, 0, 1], 0),
      along = makeSlide(translation(0, -1, 0.5), [0, 2, 0], [0, 0, 1], 0);
    const ball = sphereBody(0.1);
    const bodies: SweptBody[] = [
      { body: ball, frame: -1, frameFromBody: identityPose(), slide: 0 },
      { body: ball, frame: -1, frameFromBody: translation(0.2, 0.4, 0), slide: 1 },
    ];
    const scene = createSweptScene(turntable, bodies, [across, along], [[0, 1]]);
    const result = scene.stateMinimum([0, 0, 0], { tolerance: 1e-4 });
    expect(result.lower).toBeLessThanOrEqual(0.3);
    expect(result.upper).toBeGreaterThanOrEqual(0.3 - 1e-12);
    expect(result.upper - result.lower).toBeLessThanOrEqual(1e-4);
    expect(-1 + 2 * result.share).toBeCloseTo(0.2, 1);
    expect(-1 + 2 * result.secondShare! + 0.4).toBeCloseTo(0, 1);
  });

  it("a sheet of 0.1 mm is not stepped over", () => {
    const sheet = fixedBody(boxBody([0.5, 0.0001, 0.5]), translation(0.9, 0, 0));
    const scene = createSweptScene(turntable, [pointer(0.0001), sheet], [], [[0, 1]]);
    // Half a turn in one second from side to side; the capsule is in the sheet for less than 0.2 ms.
    const motion = straightMotion([-1.4, 0, 0], [1.7, 0, 0]);
    const q = new Float64Array(3);
    for (let k = 0; k <= 1000; k++) {
      motion.position(k / 1000, q);
      expect(scene.stateMinimum(q, tight).upper).toBeGreaterThan(0);
    }
    expect(scene.minimum(motion, { tolerance: 1e-4 }).upper).toBeLessThan(1e-4);
    expect(scene.minimum(motion, { tolerance: 1e-5 }).upper).toBeLessThan(0);
    expect(scene.clear(motion, 0)).toBe(false);
    expect(scene.pair).toBe(0);
    expect(scene.time).toBeCloseTo(1.4 / 3.1, 2);
    expect(scene.clear(straightMotion([0.1, 0, 0], [1.7, 0, 0]), 0)).toBe(true);
  });
});

describe("clear", () => {
  const ball = fixedBody(sphereBody(0.05), translation(0, 1.2, 0));
  const scene = createSweptScene(turntable, [pointer(0.1), ball], [], [[0, 1]]);
  const past = straightMotion([-2, 0, 0], [3, 0, 0]);
  it("is true below the least distance and false above, to 0.1 µm", () => {
    expect(scene.clear(past, 0.05 - 2e-7)).toBe(true);
    expect(scene.pair).toBe(-1);
    expect(scene.clear(past, 0.05 + 1e-9)).toBe(false);
    expect(-2 + 5 * scene.time).toBeCloseTo(Math.PI / 2, 2);
  });
  it("does not end in an endless search where the margin is just met", () => {
    const constant = createSweptScene(
      turntable,
      [pointer(0.1), fixedBody(cylinderBody(1, 0.2), translation(0, 0, -0.4))],
      [],
      [[0, 1]],
    );
    expect(constant.clear(past, 0.2 - 1e-6)).toBe(true);
    expect(constant.clear(past, 0.2)).toBe(false);
    expect(constant.pair).toBe(0);
  });
});

describe("queries", () => {
  const near = fixedBody(sphereBody(0.05), translation(0, 1.2, 0)),
    far = fixedBody(sphereBody(0.05), translation(0, 3, 0)),
    inside = fixedBody(sphereBody(0.05), translation(0, 0.9, 0));
  const scene = createSweptScene(
    turntable,
    [pointer(0.1), near, far, inside],
    [],
    [
      [0, 1],
      [2, 0],
      [0, 3],
    ],
  );
  const past = straightMotion([-2, 0, 0], [3, 0, 0]);
  it("looks only among the pairs asked for", () => {
    const { pair, upper } = scene.minimum(past, { ...tight, among: Uint8Array.of(1, 1, 0) });
    expect(pair).toBe(0);
    expect(upper).toBeCloseTo(0.05, 5);
    expect(scene.minimum(past, { ...tight, among: Uint8Array.of(0, 1, 0) }).upper).toBeCloseTo(1.85, 5);
    expect(scene.minimum(past, { ...tight, among: new Uint8Array(3) })).toMatchObject({
      pair: -1,
      lower: Number.POSITIVE_INFINITY,
      upper: Number.POSITIVE_INFINITY,
    });
  });
  it("tells no more than that all is above the cutoff, with less work", () => {
    const among = Uint8Array.of(1, 1, 0);
    const exact = scene.minimum(past, { ...tight, among });
    const result = scene.minimum(past, { ...tight, among, cutoff: 0.04 });
    expect(result.pair).toBe(-1);
    expect(result.lower).toBeGreaterThanOrEqual(0.04);
    expect(result.states).toBeLessThan(exact.states);
    expect(scene.minimum(past, { ...tight, among, cutoff: 0.06 }).upper).toBe(exact.upper);
    for (const cutoff of [0.05, 0.05 - 1e-7, 0.05 + 1e-7]) {
      const edge = scene.minimum(past, { ...tight, among, cutoff });
      if (edge.pair < 0) expect(edge.lower).toBeGreaterThanOrEqual(cutoff);
      else expect(edge.upper - edge.lower).toBeLessThanOrEqual(1e-6);
    }
  });
  it("finds the deepest overlap, or stops at the first when that is enough", () => {
    const deepest = scene.minimum(past, tight);
    expect(deepest.pair).toBe(2);
    expect(deepest.upper).toBeCloseTo(-0.15, 5);
    expect(deepest.upper - deepest.lower).toBeLessThanOrEqual(1e-6);
    const first = scene.minimum(past, { ...tight, enough: 0 });
    expect(first.upper).toBeLessThan(0);
    expect(first.lower).toBe(Number.NEGATIVE_INFINITY);
    expect(first.states).toBeLessThanOrEqual(deepest.states);
  });
  it("answers the same again, whatever was asked between", () => {
    const before = scene.minimum(past, tight);
    scene.clear(straightMotion([0, 0, 0], [1, 1, 1]), 0.3);
    scene.stateMinimum([1, 1, 1], tight);
    expect(scene.minimum(past, tight)).toEqual(before);
  });
  it("a body that stands where the arm stands", () => {
    const { lower, upper, time } = scene.stateMinimum([Math.PI / 2, 0, 0], { ...tight, among: Uint8Array.of(1, 0, 0) });
    expect(upper).toBeCloseTo(0.05, 12);
    expect(upper - lower).toBeLessThanOrEqual(1e-8);
    expect(time).toBe(0);
  });
});

it("a mesh beside a moving body: the same as its convex twin", () => {
  const random = mulberry32(8);
  const corners = [0, 1, 2, 3, 4, 5, 6, 7].map(
    (k) => [k & 1, (k >> 1) & 1, k >> 2].map((v) => 0.3 * v - 0.1) as [number, number, number],
  );
  const quads = [
    [0, 2, 3, 1],
    [4, 5, 7, 6],
    [0, 1, 5, 4],
    [2, 6, 7, 3],
    [0, 4, 6, 2],
    [1, 3, 7, 5],
  ];
  const triangles = quads.flatMap(([a, b, c, d]) => [a!, b!, c!, a!, c!, d!]);
  const mesh = meshBody(Float64Array.from(corners.flat()), Uint32Array.from(triangles), true),
    hull = hullBody(corners);
  for (let run = 0; run < 20; run++) {
    const arm = buildArm(randomArm(random));
    const place = randomPose(random, 1),
      tool = randomPose(random, 0.3);
    const motion = straightMotion(
      Float64Array.from({ length: arm.n }, () => 4 * random() - 2),
      Float64Array.from({ length: arm.n }, () => 4 * random() - 2),
    );
    const [a, b] = [mesh, hull].map((body) =>
      createSweptScene(
        arm,
        [{ body: boxBody([0.2, 0.1, 0.1]), frame: arm.n, frameFromBody: tool }, fixedBody(body, place)],
        [],
        [[0, 1]],
      ).minimum(motion, { tolerance: 1e-4, enough: 0 }),
    ) as [
      ReturnType<ReturnType<typeof createSweptScene>["minimum"]>,
      ReturnType<ReturnType<typeof createSweptScene>["minimum"]>,
    ];
    if (b.upper < 0) expect(a.upper).toBeLessThan(0);
    else {
      expect(a.lower).toBeLessThanOrEqual(b.upper + 1e-9);
      expect(b.lower).toBeLessThanOrEqual(a.upper + 1e-9);
    }
  }
});

/** A level square of 2 m, waved along x by `wave` (m), of 2 · parts² triangles; a surface only. */
function sheetMesh(parts: number, wave: number) {
  const vertices: number[] = [],
    indices: number[] = [];
  for (let i = 0; i <= parts; i++)
    for (let j = 0; j <= parts; j++)
      vertices.push((2 * i) / parts - 1, (2 * j) / parts - 1, wave * Math.sin((40 * i) / parts));
  for (let i = 0; i < parts; i++)
    for (let j = 0; j < parts; j++) {
      const a = i * (parts + 1) + j,
        c = a + parts + 1;
      indices.push(a, c, a + 1, a + 1, c, c + 1);
    }
  return meshBody(Float64Array.from(vertices), Uint32Array.from(indices), false);
}

describe("a mesh of many triangles", () => {
  const turn = straightMotion([-1, 0, 0], [1, 0.1, 0]);
  it("at a constant distance costs no more than a box", () => {
    const flat = fixedBody(sheetMesh(60, 0), translation(0, 0, -0.15));
    const result = createSweptScene(turntable, [pointer(0.1), flat], [], [[0, 1]]).minimum(turn, tight);
    expect(result.upper).toBeCloseTo(0.05, 9);
    expect(result.upper - result.lower).toBeLessThanOrEqual(1e-6);
    expect(result.states).toBeLessThan(10);
    // The mesh turns, the capsule stands.
    const carried: SweptBody = { body: sheetMesh(60, 0), frame: 3, frameFromBody: translation(0, 0, -0.15) };
    const post = fixedBody(capsuleBody(0.1, 0.5), translation(0.3, 0.2, 0.25));
    for (const pair of [
      [0, 1],
      [1, 0],
    ] as const) {
      const turned = createSweptScene(turntable, [carried, post], [], [pair]).minimum(turn, tight);
      expect(turned.upper).toBeCloseTo(0.05, 9);
      expect(turned.states).toBeLessThan(10);
    }
  });
  it("that is not level is certified all the same", () => {
    const wavy = fixedBody(sheetMesh(40, 0.01), translation(0, 0, -0.15));
    const scene = createSweptScene(turntable, [pointer(0.1), wavy], [], [[0, 1]]);
    const { lower, upper } = scene.minimum(turn, { tolerance: 1e-4 });
    expect(upper - lower).toBeLessThanOrEqual(1e-4);
    const q = new Float64Array(3);
    for (let k = 0; k <= 500; k++) {
      turn.position(k / 500, q);
      expect(scene.stateMinimum(q, { tolerance: 1e-6 }).upper).toBeGreaterThanOrEqual(lower);
    }
    expect(scene.clear(turn, lower - 1e-6)).toBe(true);
    expect(scene.clear(turn, upper + 1e-6)).toBe(false);
  });
});

describe("broken contracts", () => {
  const ball = fixedBody(sphereBody(0.05), translation(0, 1.2, 0));
  const good: SweptBody[] = [pointer(0.1), ball];
  it.each<[string, () => unknown, RegExp]>([
    ["frame", () => createSweptScene(turntable, [{ ...ball, frame: 4 }], [], []), /frame must be -1 to 3, got 4/],
    ["slide", () => createSweptScene(turntable, [{ ...ball, slide: 0 }], [], []), /slide must be below 0/],
    [
      "slide on the arm",
      () =>
        createSweptScene(
          turntable,
          [{ ...pointer(0.1), slide: 0 }],
          [makeSlide(identityPose(), [1, 0, 0], [0, 0, 1], 0)],
          [],
        ),
      /its frame -1, got slide 0, frame 3/,
    ],
    ["pair", () => createSweptScene(turntable, good, [], [[0, 2]]), /two bodies below 2, got 0, 2/],
    ["fixed pair", () => createSweptScene(turntable, [ball, ball], [], [[0, 1]]), /must have a body that moves/],
    [
      "slide pose",
      () =>
        createSweptScene(
          turntable,
          good,
          [{ baseFromOwnerStart: new Float64Array(16), baseFromOwnerEnd: identityPose() }],
          [],
        ),
      /orthonormal/,
    ],
    [
      "tolerance",
      () => createSweptScene(turntable, good, [], [[0, 1]]).minimum(standing([0, 0, 0]), { tolerance: 0 }),
      /tolerance must be above 0/,
    ],
    [
      "among",
      () =>
        createSweptScene(turntable, good, [], [[0, 1]]).minimum(standing([0, 0, 0]), {
          ...tight,
          among: new Uint8Array(2),
        }),
      /among must have 1 entries, got 2/,
    ],
    [
      "values that are not finite",
      () => createSweptScene(turntable, good, [], [[0, 1]]).minimum(standing([0, Number.NaN, 0]), tight),
      /finite joint values/,
    ],
    [
      "spread below 0",
      () => {
        const bad: SweptMotion = {
          ...straightMotion([0, 0, 0], [1, 1, 1]),
          spread: (_from, _to, out) => void out.fill(-1),
        };
        createSweptScene(turntable, good, [], [[0, 1]]).minimum(bad, tight);
      },
      /spreads of at least 0/,
    ],
    [
      "duration",
      () =>
        createSweptScene(turntable, good, [], [[0, 1]]).minimum(
          { ...standing([0, 0, 0]), duration: Number.NaN },
          tight,
        ),
      /duration must be finite/,
    ],
    ["straight line of two lengths", () => straightMotion([0], [0, 1]), /as long, got 1 and 2/],
    ["straight line to nowhere", () => straightMotion([0], [Number.POSITIVE_INFINITY]), /joint 1 must be finite/],
    [
      "state",
      () => createSweptScene(turntable, good, [], [[0, 1]]).stateMinimum([0], tight),
      /q must have 3 values, got 1/,
    ],
  ])("%s", (_name, run, message) => {
    expect(run).toThrow(message);
  });
  it("a pose of the base that is turned is a pose like any other", () => {
    const slide = makeSlide(rotationAbout([0, 1, 0], 1), [0, 0, 1], [1, 0, 0], 0.5);
    expect(() => createSweptScene(turntable, good, [slide], [[0, 1]])).not.toThrow();
  });
});
