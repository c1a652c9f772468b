/** Climbing along the edges of a hull finds what looking at every corner finds. */
import { expect, test } from "vitest";
import { mulberry32, randomDirection } from "../../test/arms/random.ts";
import { hullBody } from "./body.ts";
import { support } from "./support.ts";

type Points = [number, number, number][];

const random = mulberry32(41);
const ball = (n: number): Points => Array.from({ length: n }, () => randomDirection(random));
/** A grid of points in a box: many in one plane, most inside. */
const grid = (n: number): Points =>
  Array.from({ length: n ** 3 }, (_, i) => [i % n, Math.floor(i / n) % n, Math.floor(i / n ** 2)]);
/** A drum of many corners: two flat ends. */
const drum = (n: number): Points =>
  Array.from({ length: 2 * n }, (_, i) => {
    const turn = (2 * Math.PI * (i >> 1)) / n;
    return [Math.cos(turn), Math.sin(turn), i % 2];
  });

/** With the middle of each pair of points, some of them on an edge of the hull within rounding. */
const withMiddles = (points: Points): Points => [
  ...points,
  ...points.flatMap((p, i) =>
    points
      .slice(0, i)
      .map((q) => [(p[0] + q[0]) / 2, (p[1] + q[1]) / 2, (p[2] + q[2]) / 2] as [number, number, number]),
  ),
];

test.each([
  ["16 corners", ball(16), true],
  ["50 corners", ball(50), true],
  ["300 corners", ball(300), true],
  ["a drum", drum(40), undefined],
  // Corners in the middle of faces and edges: every neighbour may be level.
  ["a grid", grid(4), false],
  ["a ball and the middle of its faces", withMiddles(ball(30)), undefined],
  ["15 corners", ball(15), false],
] as const)("%s", (_, points, isClimbed) => {
  const body = hullBody(points);
  if (isClimbed !== undefined) expect(body.web !== undefined).toBe(isClimbed);
  const out = new Float64Array(3);
  for (let i = 0; i < 2000; i++) {
    // The corner found last is a good start, a bad one, or none.
    if (body.web !== undefined) body.web.last[0] = i % 3 === 0 ? -1 : Math.floor(body.count * random());
    const [x, y, z] = i % 7 === 0 ? ([0, 0, i % 2 === 0 ? 1 : -1] as const) : randomDirection(random);
    support(body, x, y, z, out, 0);
    const truth = Math.max(...points.map((p) => x * p[0] + y * p[1] + z * p[2]));
    expect(truth - (x * out[0]! + y * out[1]! + z * out[2]!)).toBeLessThan(1e-12);
  }
});
