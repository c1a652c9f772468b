import { describe, expect, test } from "vitest";
import { mulberry32, randomArm, randomPose } from "../../test/arms/random.ts";
import { leastSampled } from "../../test/route/recheck.ts";
import { gantry } from "../../test/route/simple-arms.ts";
import { buildArm } from "../arm/index.ts";
import { type Body, boxBody, capsuleBody, cylinderBody, hullBody, meshBody, sphereBody } from "../clearance/index.ts";
import type { SweptBody } from "../clearance/swept/types.ts";
import { identityPose, translation } from "../math/pose.ts";
import { EdgeCheck } from "./edge-check.ts";
import { standScene } from "./standing-scene.ts";
import type { RouteScene } from "./types.ts";

/** A body of any kind, about as large as `size`, m. */
function anyBody(random: () => number, size: number): Body {
  const length = () => size * (0.2 + random());
  switch (Math.floor(6 * random())) {
    case 0:
      return sphereBody(length() / 2);
    case 1:
      return capsuleBody(length() / 4, length());
    case 2:
      return boxBody([length(), length(), length()]);
    case 3:
      return cylinderBody(length() / 3, length());
    case 4:
      return hullBody(Array.from({ length: 9 }, () => [length() / 2, length() / 2, length() / 2] as const));
    default:
      return meshBody(
        Float64Array.from({ length: 12 }, () => size * (random() - 0.5)),
        Uint32Array.of(0, 1, 2, 0, 2, 3, 0, 3, 1, 1, 3, 2),
        false,
      );
  }
}

/** An arm of any make with a body or two on each link, among a few standing bodies. */
function anyScene(random: () => number, margin: number): RouteScene {
  const arm = buildArm(randomArm(random));
  const bodies: SweptBody[] = [];
  for (let frame = 0; frame <= arm.n; frame++)
    if (random() < 0.7) bodies.push({ body: anyBody(random, 0.15), frame, frameFromBody: randomPose(random, 0.15) });
  const carried = bodies.length;
  for (let k = 0; k < 4; k++)
    bodies.push({ body: anyBody(random, 0.3), frame: -1, frameFromBody: randomPose(random, 0.8) });
  const pairs: [number, number][] = [];
  for (let i = 0; i < carried; i++) for (let j = i + 1; j < bodies.length; j++) if (random() < 0.7) pairs.push([j, i]);
  return { arm, bodies, slides: [], pairs, margin };
}

describe("edges of any arm among any bodies", () => {
  test("a certified edge has the margin in every state sampled, and what has clearly more is certified", () => {
    const random = mulberry32(31);
    let certified = 0,
      close = 0,
      refused = 0;
    for (let k = 0; k < 80; k++) {
      const margin = [0, 0.01, 0.05][k % 3]!;
      const scene = anyScene(random, margin);
      const standing = standScene(scene);
      // Bodies of one link that overlap say nothing about an edge.
      const rigid = new Set(standing.rigid.map(({ origin }) => origin));
      const moving = { ...scene, pairs: scene.pairs.filter((_, index) => !rigid.has(index)) };
      if (moving.pairs.length === 0) continue;
      const check = new EdgeCheck(standing);
      const { n, prismatic } = scene.arm;
      for (let edge = 0; edge < 12; edge++) {
        const a = Float64Array.from({ length: n }, (_, i) => (prismatic[i] ? 0.5 : 3) * (2 * random() - 1));
        const b = a.map((v) => v + 1.5 * (random() - 0.5));
        const clear = check.edgeClear(a, b);
        const { least } = leastSampled(moving, [a, b], 0.005);
        if (clear) {
          certified++;
          if (least < margin + 0.03) close++;
          expect(least, `scene ${k}, edge ${edge}`).toBeGreaterThanOrEqual(margin);
        } else {
          refused++;
          // Sampling finds the least distance to about a few millimetres.
          expect(least, `scene ${k}, edge ${edge}`).toBeLessThan(margin + 1e-2);
        }
        expect(check.stateClear(a)).toBe(leastSampled(moving, [a, a], 1).least >= margin);
      }
    }
    // The cases are worth something: many of each, many of them close.
    expect(certified).toBeGreaterThan(600);
    expect(refused).toBeGreaterThan(80);
    expect(close).toBeGreaterThan(30);
  });

  test("the clearance told is below the sampled one, and not far below", () => {
    const random = mulberry32(8);
    let told = 0;
    for (let k = 0; k < 60; k++) {
      const scene = anyScene(random, 0);
      const standing = standScene(scene);
      if (standing.rigid.length > 0 || scene.pairs.length === 0) continue;
      const check = new EdgeCheck(standing);
      const { n, prismatic } = scene.arm;
      for (let edge = 0; edge < 6; edge++) {
        const a = Float64Array.from({ length: n }, (_, i) => (prismatic[i] ? 0.5 : 3) * (2 * random() - 1));
        const b = a.map((v) => v + 0.5 * (random() - 0.5));
        if (!check.edgeClear(a, b)) continue;
        const clearance = check.leastAlong([a, b]);
        const { least } = leastSampled(scene, [a, b], 0.002);
        expect(clearance).toBeLessThanOrEqual(least);
        // Sampled or not, the true least is a little below `least`, and at most nine tenths of it are promised.
        if (least < 0.5) expect(clearance).toBeGreaterThan(0.85 * least - 0.003);
        told++;
      }
      // What was measured leaves no trace.
      expect(check.leastAlong([new Float64Array(n), new Float64Array(n)])).toBeLessThanOrEqual(0.5);
    }
    expect(told).toBeGreaterThan(20);
  });

  test("an edge of no length, and one that starts too near", () => {
    const random = mulberry32(4);
    const scene = anyScene(random, 0);
    const check = new EdgeCheck(standScene(scene));
    const { n } = scene.arm;
    for (let k = 0; k < 50; k++) {
      const q = Float64Array.from({ length: n }, () => 2 * random() - 1);
      expect(check.edgeClear(q, q)).toBe(check.stateClear(q));
      if (check.stateClear(q)) continue;
      const to = q.map((v) => v + 0.3 * random());
      expect(check.edgeClear(q, to)).toBe(false);
      expect(check.edgeClear(to, q)).toBe(false);
    }
  });

  test("a wall slid along at a hair's breadth costs few states", () => {
    // A ball 0.1 mm above a plate, 2 m along it: what moves across the normal brings nothing nearer.
    const scene: RouteScene = {
      arm: gantry(-1, 1),
      bodies: [
        { body: sphereBody(0.05), frame: 3, frameFromBody: identityPose() },
        { body: boxBody([4, 4, 0.1]), frame: -1, frameFromBody: translation(0, 0, -0.1001) },
      ],
      slides: [],
      pairs: [[0, 1]],
      margin: 0,
    };
    const check = new EdgeCheck(standScene(scene));
    expect(check.edgeClear([-1, -0.3, 0], [1, 0.4, 0])).toBe(true);
    // By the length of way alone it would take some 10,000.
    expect(check.states).toBeLessThan(50);
    // The same tilted by more than the gap is not clear.
    expect(check.edgeClear([-1, -0.3, 0], [1, 0.4, -0.0002])).toBe(false);
  });
});
