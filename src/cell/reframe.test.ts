import fc from "fast-check";
import { expect, test } from "vitest";
import { mulberry32, randomInertia, randomPose } from "../../test/arms/random.ts";
import { compose, identityPose, invert, rotationAbout, translation } from "../math/pose.ts";
import type { InertiaDescription } from "./arm-description.ts";
import { combineInertias, reframeInertia, reframeShape } from "./reframe.ts";

const seed = 20240613;
const flat = ({ mass, centre, tensor }: InertiaDescription) => [mass, ...centre, ...tensor];
const expectClose = (a: InertiaDescription, b: InertiaDescription) => {
  for (const [i, value] of flat(b).entries()) expect(flat(a)[i]).toBeCloseTo(value, 10);
};
const drawn = fc.integer().map((s) => {
  const random = mulberry32(s);
  return { a: randomInertia(random), b: randomInertia(random), frame: randomPose(random, 1) };
});

test("a quarter turn about z swaps x and y", () => {
  const turned = reframeInertia(
    { mass: 2, centre: [1, 0, 0], tensor: [1, 2, 3, 0.1, 0.2, 0.3] },
    compose(translation(0, 0, 5), rotationAbout([0, 0, 1], Math.PI / 2)),
  );
  expectClose(turned, { mass: 2, centre: [0, 1, 5], tensor: [2, 1, 3, -0.1, -0.3, 0.2] });
});

test("there and back is the same body", () => {
  fc.assert(
    fc.property(drawn, ({ a, frame }) => expectClose(reframeInertia(reframeInertia(a, frame), invert(frame)), a)),
    { seed },
  );
});

test("combining and reframing may be done in either order", () => {
  fc.assert(
    fc.property(drawn, ({ a, b, frame }) => {
      const outside = combineInertias([reframeInertia(a, frame), reframeInertia(b, frame)]);
      expectClose(outside, reframeInertia(combineInertias([a, b]), frame));
    }),
    { seed },
  );
});

test("a dumbbell has its two masses' moment about the middle", () => {
  const ball = (x: number): InertiaDescription => ({ mass: 3, centre: [x, 0, 0], tensor: [0.01, 0.01, 0.01, 0, 0, 0] });
  expectClose(combineInertias([ball(0.5), ball(-0.5)]), {
    mass: 6,
    centre: [0, 0, 0],
    tensor: [0.02, 1.52, 1.52, 0, 0, 0],
  });
  expectClose(combineInertias([]), { mass: 0, centre: [0, 0, 0], tensor: [0, 0, 0, 0, 0, 0] });
});

test("a shape moves with its frame", () => {
  const shape = { name: "rod", ownerFromShape: translation(1, 0, 0), shape: { kind: "sphere", radius: 0.1 } } as const;
  const moved = reframeShape(shape, rotationAbout([0, 0, 1], Math.PI / 2));
  expect(moved.name).toBe("rod");
  expect(moved.ownerFromShape[7]).toBeCloseTo(1, 12);
  expect(reframeShape(shape, identityPose()).ownerFromShape).toEqual(shape.ownerFromShape);
});
