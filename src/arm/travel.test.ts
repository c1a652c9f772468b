import { expect, test } from "vitest";
import { mulberry32, randomArm } from "../../test/arms/random.ts";
import { buildArm, jointFrames } from "./index.ts";
import { axisDistances, chordOf, farthestFromLine, jointsMoving, placeExtent, wayOfBody } from "./travel.ts";

test("a corner of a box is as far from a line as its cross product says", () => {
  const corners = Float64Array.of(3, 4, 7, 1, 1, -9);
  expect(farthestFromLine(corners, 0, 6, 0.5, 0, 0, 1, 0, 0, 0)).toBeCloseTo(5.5, 14);
  expect(farthestFromLine(corners, 3, 6, 0, 0, 0, 1, 1, 0, 2)).toBeCloseTo(1, 14);
});

test("one turning joint: the way of a point is its chord", () => {
  expect(chordOf(0)).toBe(0);
  expect(chordOf(Math.PI / 3)).toBeCloseTo(1, 14);
  expect(chordOf(5)).toBe(2);
});

test("no point of a random body on a random arm moves farther than the bound", () => {
  const random = mulberry32(31);
  let closest = 0;
  for (let run = 0; run < 200; run++) {
    const arm = buildArm(randomArm(random));
    const { n } = arm;
    const frame = Math.floor(random() * (n + 1));
    const joints = jointsMoving(arm, frame);
    const first = Math.floor(random() * joints);
    const q = Float64Array.from({ length: n }, () => 4 * random() - 2);
    const spread = Float64Array.from({ length: n }, () => 2 * random() ** 3);
    const points = Float64Array.from({ length: 12 }, () => random() - 0.5);
    const size = points.length;
    const frames = new Float64Array(12 * (n + 1)),
      moved = frames.slice();
    const placed = new Float64Array(size),
      after = placed.slice(),
      distances = new Float64Array(n);
    jointFrames(arm, q, frames);
    placeExtent(points, frames, 12 * frame, placed, 0);
    axisDistances(arm, frames, placed, 0, size, 0, 0, joints, distances, 0);
    const ways = spread.map((s, j) => (arm.prismatic[j] === 1 ? s : chordOf(s)));
    const bound = wayOfBody(ways, distances, 0, first, joints);
    let most = 0;
    for (let k = 0; k < 100; k++) {
      // Half of the tries at the corners of the spreads.
      const other = q.map((v, j) => {
        const share = k % 2 === 0 ? Math.sign(random() - 0.5) : 2 * random() - 1;
        return j < first ? v : v + share * spread[j]!;
      });
      jointFrames(arm, other, moved);
      placeExtent(points, moved, 12 * frame, after, 0);
      for (let c = 0; c < size; c += 3)
        most = Math.max(
          most,
          Math.hypot(after[c]! - placed[c]!, after[c + 1]! - placed[c + 1]!, after[c + 2]! - placed[c + 2]!),
        );
    }
    expect(most, `arm ${run}`).toBeLessThanOrEqual(bound + 1e-12);
    if (most > 1e-9) closest = Math.max(closest, most / bound);
  }
  expect(closest).toBeGreaterThan(0.95);
});
