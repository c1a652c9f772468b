import { describe, expect, test } from "vitest";
import { mulberry32, randomPose } from "../../test/arms/random.ts";
import {
  type Body,
  boxBody,
  capsuleBody,
  cylinderBody,
  distance,
  hullBody,
  newDistance,
  sphereBody,
} from "../clearance/index.ts";
import type { Slide } from "../clearance/swept/types.ts";
import { compose, rotationAbout, translation } from "../math/pose.ts";
import { coverSlide } from "./slide-cover.ts";

const bodies: Record<string, Body> = {
  sphere: sphereBody(0.1),
  capsule: capsuleBody(0.05, 0.3),
  box: boxBody([0.6, 0.05, 0.9]),
  cylinder: cylinderBody(0.1, 0.2),
  hull: hullBody([
    [0, 0, 0],
    [0.3, 0, 0],
    [0, 0.2, 0],
    [0, 0, 0.4],
  ]),
};

/** Owner's pose at a share of the slide: origin straight, turn about one axis by an even angle. */
function turnedAt(start: Float64Array, axis: readonly number[], angle: number, way: readonly number[], share: number) {
  const owner = compose(rotationAbout(axis, share * angle), start);
  for (const [i, c] of [3, 7, 11].entries()) owner[c] = start[c]! + share * way[i]!;
  return owner;
}

describe.each(Object.keys(bodies))("a %s on a slide", (kind) => {
  test.each([
    { name: "straight", angle: 0, way: [0.7, 0, 0.1] },
    { name: "swinging", angle: 1.9, way: [0, 0, 0] },
    { name: "turning nearly half around on its way", angle: 3, way: [0.1, -0.2, 0.3] },
    // Then either way round is covered.
    { name: "turning half around on its way", angle: Math.PI, way: [0.1, -0.2, 0.3] },
    { name: "staying", angle: 0, way: [0, 0, 0] },
  ])("$name: the cover holds it everywhere and holds little more", ({ angle, way }) => {
    const random = mulberry32(77);
    const body = bodies[kind]!,
      probe = sphereBody(0.01);
    const out = newDistance();
    for (let k = 0; k < 4; k++) {
      const start = randomPose(random, 0.3);
      const axis = [random() - 0.5, random() - 0.5, random() - 0.5];
      const slide: Slide = { baseFromOwnerStart: start, baseFromOwnerEnd: turnedAt(start, axis, angle, way, 1) };
      const inOwner = randomPose(random, 0.1);
      const cover = coverSlide(body, inOwner, slide);
      for (let p = 0; p < 12; p++) {
        const at = translation(1.4 * (random() - 0.5), 1.4 * (random() - 0.5), 1.4 * (random() - 0.5));
        const toCover = Math.min(...cover.map((c) => distance(probe, at, c.body, c.baseFromBody, out)));
        const toWithin = Math.min(...cover.map((c) => distance(probe, at, c.within, c.baseFromBody, out)));
        let least = Number.POSITIVE_INFINITY;
        for (let s = 0; s <= 200; s++) {
          const owner = turnedAt(start, axis, angle, way, s / 200);
          least = Math.min(least, distance(probe, at, body, compose(owner, inOwner), out));
        }
        expect(toCover).toBeLessThanOrEqual(least + 1e-9);
        // Ten millimetres: five of thickening, on either side of a place that the samples may miss by a few.
        if (least > 0 && angle < 3.1) expect(toCover).toBeGreaterThan(least - 0.012);
        // What a proof of impossibility counts on is really taken up, at least where it was sampled.
        if (toWithin > 0 && angle < 3.1) expect(toWithin).toBeGreaterThanOrEqual(least - 0.006);
      }
    }
  });
});
