/** Whole arm states: the reference scene with its known count, and both queries against all pairs one by one. */
import { expect, test } from "vitest";
import { mulberry32, randomPose } from "../../test/arms/random.ts";
import { sceneBodies, sceneFrames, scenePairs, sceneSet, sceneStates } from "../../test/clearance/bench-scene.ts";
import { convexKinds, kinds, randomSample } from "../../test/clearance/random-bodies.ts";
import { identityPose } from "../math/pose.ts";
import { createBodySet, newDistance, sphereBody } from "./index.ts";

test("2,712 of the 5,000 random states of the reference scene collide, and the signed distance says the same", () => {
  const bodies = sceneBodies();
  expect(scenePairs(bodies).length).toBe(156);
  const set = sceneSet(bodies);
  const frames = new Float64Array(84);
  const out = newDistance();
  let colliding = 0;
  for (const q of sceneStates()) {
    set.place(sceneFrames(q, frames));
    const hits = set.collides();
    if (hits) {
      colliding++;
      expect(set.pairDistance(set.pair, out)).toBeLessThan(0);
    }
    expect(set.minimumDistance(out) < 0).toBe(hits);
  }
  expect(colliding).toBe(2712);
});

test("leaving out pairs changes neither the least distance nor the answer with a margin", () => {
  const set = sceneSet();
  const frames = new Float64Array(84);
  const out = newDistance(),
    single = newDistance();
  const pairs = set.pairs.length / 2;
  let looks = 0;
  for (const q of sceneStates().slice(0, 400)) {
    set.place(sceneFrames(q, frames));
    let least = Number.POSITIVE_INFINITY;
    for (let k = 0; k < pairs; k++) least = Math.min(least, set.pairDistance(k, single));
    const before = set.looks;
    expect(set.minimumDistance(out)).toBe(least);
    looks += set.looks - before;
    expect(set.pairDistance(set.pair, single)).toBe(least);
    expect([...single]).toEqual([...out]);
    for (const margin of [0.005, 0.05]) expect(set.collides(margin)).toBe(least < margin);
  }
  // Work, not time: most pairs are never looked at.
  expect(looks / 400).toBeLessThan(20);
});

test("random bodies of every kind, meshes inside bodies and bodies inside meshes among them", () => {
  const random = mulberry32(31);
  const out = newDistance(),
    single = newDistance();
  for (let round = 0; round < 60; round++) {
    const carried = Array.from({ length: 12 }, (_, i) => ({
      body: randomSample(i < 6 ? kinds[i]! : convexKinds[i % 5]!, random).body,
      frame: i % 3 === 0 ? -1 : i % 3,
      frameFromBody: randomPose(random, round % 2 === 0 ? 0.3 : 1.5),
    }));
    const pairs = carried.flatMap((_, i) => carried.slice(0, i).map((__, j): [number, number] => [i, j]));
    const set = createBodySet(carried, 3, pairs);
    const frames = new Float64Array(36);
    for (let f = 0; f < 3; f++) frames.set(randomPose(random, 0.3).subarray(0, 12), 12 * f);
    set.place(frames);
    let least = Number.POSITIVE_INFINITY;
    for (let k = 0; k < pairs.length; k++) least = Math.min(least, set.pairDistance(k, single));
    expect(Math.abs(set.minimumDistance(out) - least)).toBeLessThan(1e-11);
    expect(set.collides()).toBe(least < 0);
  }
});

test("no pairs: nothing collides, and the distance is infinite", () => {
  const set = createBodySet([{ body: sphereBody(1), frame: -1, frameFromBody: identityPose() }], 0, []);
  expect(set.collides()).toBe(false);
  expect(set.minimumDistance(newDistance())).toBe(Number.POSITIVE_INFINITY);
  expect(set.pair).toBe(-1);
});

test("frames and pairs out of range are refused", () => {
  const one = { body: sphereBody(1), frame: 0, frameFromBody: identityPose() };
  expect(() => createBodySet([one], 0, [])).toThrow("carried[0].frame");
  expect(() => createBodySet([one], 1, [[0, 1]])).toThrow("pairs[0]");
  expect(() => createBodySet([one, one], 1, [[0, 1]]).place(new Float64Array(11))).toThrow("12 numbers, got 11");
});
