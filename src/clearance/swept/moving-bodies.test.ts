import { expect, it } from "vitest";
import { mulberry32, randomArm, randomDirection } from "../../../test/arms/random.ts";
import { convexKinds, randomPlace, randomSample, reachAlong } from "../../../test/clearance/random-bodies.ts";
import { carrierFrames, makeSlide, ownerAt } from "../../../test/clearance/swept-motions.ts";
import { type Arm, buildArm, jointsMoving } from "../../arm/index.ts";
import { compose, identityPose, type Pose } from "../../math/index.ts";
import { MovingBodies } from "./moving-bodies.ts";
import { slidePath } from "./slide-path.ts";

const placeAt = (arm: Arm, frame: number, q: ArrayLike<number>, frameFromBody: Pose): Pose => {
  const carrier = identityPose();
  const frames = carrierFrames(arm, q, new Float64Array(12 * (arm.n + 1)));
  carrier.set(frames.subarray(12 * frame, 12 * frame + 12));
  return compose(carrier, frameFromBody);
};

/** Every combination of the joints from `first` on at their least and greatest, and as many in between. */
function* around(q: Float64Array, spread: Float64Array, first: number, joints: number, random: () => number) {
  const free = joints - first;
  for (let k = 0; k < 2 ** (free + 1); k++)
    yield q.map((v, j) => {
      if (j < first || j >= joints) return v;
      const share = k < 2 ** free ? ((k >> (j - first)) & 1 ? 1 : -1) : 2 * random() - 1;
      return v + share * spread[j]!;
    });
}

/** How far the body reaches against n at least (minus the least of n·p), and the way of its points, by trying. */
it("bounds of bodies on an arm hold at every corner of the spreads, and are close", () => {
  const random = mulberry32(51);
  let bestReach = 0,
    bestWay = 0;
  for (let run = 0; run < 400; run++) {
    const arm = buildArm(randomArm(random));
    const { n } = arm;
    const sample = randomSample(convexKinds[run % 5]!, random);
    const frame = Math.floor((n + 1) * random());
    const joints = jointsMoving(arm, frame);
    const first = Math.floor(joints * random());
    const frameFromBody = randomPlace(random, 0.4);
    const moving = new MovingBodies(arm, [{ body: sample.body, frame, frameFromBody }], []);
    const q = Float64Array.from({ length: n }, () => 4 * random() - 2);
    const size = 10 ** (-3 + 3 * random());
    const spread = Float64Array.from({ length: n }, () => (random() < 0.3 ? 0 : size * random()));
    moving.begin();
    moving.placeArm(q, spread);
    moving.place(0);
    const d = randomDirection(random);
    const against = d.map((v) => -v);
    const least = moving.leastAlong(0, first, ...d);
    const way = moving.wayFrom(0, first);
    const middle = placeAt(arm, frame, q, frameFromBody);
    const before = -reachAlong(sample, middle, against);
    let lowest = before,
      most = 0;
    for (const other of around(q, spread, first, joints, random)) {
      const pose = placeAt(arm, frame, other, frameFromBody);
      lowest = Math.min(lowest, -reachAlong(sample, pose, against));
      // The change of the reach in any direction is what the way has to cover.
      const away = [3, 7, 11].map((k) => pose[k]! - middle[k]!);
      const length = Math.hypot(...away);
      const directions = [d, length > 0 ? away.map((v) => v / length) : d, randomDirection(random)];
      for (const e of directions)
        most = Math.max(most, Math.abs(reachAlong(sample, pose, e) - reachAlong(sample, middle, e)));
    }
    expect(least, `run ${run}, ${sample.kind}`).toBeLessThanOrEqual(lowest + 1e-12);
    expect(way, `run ${run}, ${sample.kind}`).toBeGreaterThanOrEqual(most - 1e-12);
    if (before - least > 1e-9) bestReach = Math.max(bestReach, (before - lowest) / (before - least));
    if (way > 1e-9) bestWay = Math.max(bestWay, most / way);
    // Small spreads: nothing but the second order is lost along a direction, except by the boxes of large hulls and discs.
    if (size < 0.003 && sample.kind !== "convex" && sample.kind !== "cylinder" && before - least > 1e-7)
      expect((before - lowest) / (before - least), `run ${run}, ${sample.kind}`).toBeGreaterThan(0.9);
  }
  expect(bestReach).toBeGreaterThan(0.999);
  expect(bestWay).toBeGreaterThan(0.97);
});

it("bounds of bodies on slides hold, and are close", () => {
  const random = mulberry32(52);
  const arm = buildArm(randomArm(random));
  let best = 0;
  for (let run = 0; run < 400; run++) {
    const sample = randomSample(convexKinds[run % 5]!, random);
    const axis = randomDirection(random),
      angle = random() < 0.2 ? 0 : 3.1 * random();
    const slide = makeSlide(
      randomPlace(random, 0.5),
      randomDirection(random).map((v) => v * random()),
      axis,
      angle,
    );
    const frameFromBody = randomPlace(random, 0.5);
    const moving = new MovingBodies(
      arm,
      [{ body: sample.body, frame: -1, frameFromBody, slide: 0 }],
      [slidePath(slide)],
    );
    const share = random(),
      spread = Math.min(share, 1 - share) * 10 ** (-2 * random());
    moving.begin();
    moving.placeSlide(0, share, spread);
    moving.place(0);
    const at = (u: number) => compose(ownerAt(slide, axis, angle, u), frameFromBody);
    const d = randomDirection(random);
    const against = d.map((v) => -v);
    const least = moving.leastAlong(0, moving.first[0]!, ...d);
    const way = moving.ways[0]!;
    const before = -reachAlong(sample, at(share), against);
    let lowest = before,
      most = 0;
    for (let k = 0; k <= 20; k++) {
      const pose = at(share + spread * (k / 10 - 1));
      lowest = Math.min(lowest, -reachAlong(sample, pose, against));
      for (const e of [d, axis, randomDirection(random)])
        most = Math.max(most, Math.abs(reachAlong(sample, pose, e) - reachAlong(sample, at(share), e)));
    }
    expect(least, `run ${run}`).toBeLessThanOrEqual(lowest + 1e-12);
    expect(most, `run ${run}`).toBeLessThanOrEqual(way + 1e-12);
    if (before - least > 1e-9) best = Math.max(best, (before - lowest) / (before - least));
  }
  expect(best).toBeGreaterThan(0.999);
});
