import { expect, it } from "vitest";
import { mulberry32, randomArm } from "../../../test/arms/random.ts";
import { convexKinds, randomPlace, randomSample } from "../../../test/clearance/random-bodies.ts";
import { carrierFrames } from "../../../test/clearance/swept-motions.ts";
import { buildArm } from "../../arm/index.ts";
import { compose, identityPose } from "../../math/index.ts";
import { distance, newDistance } from "../distance.ts";
import { keepsFromMesh } from "./mesh-gap.ts";
import { MovingBodies } from "./moving-bodies.ts";

it("never grants a distance that some state of the interval undercuts, and grants more than the ways alone", () => {
  const random = mulberry32(71);
  const out = newDistance();
  let tried = 0,
    granted = 0,
    beyondWays = 0;
  while (tried < 80) {
    const arm = buildArm(randomArm(random));
    const { n } = arm;
    const convex = randomSample(convexKinds[tried % 5]!, random),
      mesh = randomSample("mesh", random);
    const meshMoves = random() < 0.4;
    const place = randomPlace(random, 0.5),
      local = randomPlace(random, 0.2);
    const carried = { body: meshMoves ? mesh.body : convex.body, frame: n, frameFromBody: local },
      fixed = { body: meshMoves ? convex.body : mesh.body, frame: -1, frameFromBody: place };
    const bodies = new MovingBodies(arm, [carried, fixed], []);
    const q = Float64Array.from({ length: n }, () => 4 * random() - 2);
    const spread = Float64Array.from({ length: n }, () => 0.03 * random() ** 2);
    const frames = new Float64Array(12 * (n + 1));
    /** Signed distance of the convex body from the mesh. */
    const measure = (state: ArrayLike<number>) => {
      const flange = identityPose();
      flange.set(carrierFrames(arm, state, frames).subarray(12 * n));
      const pose = compose(flange, local);
      return meshMoves
        ? distance(convex.body, place, mesh.body, pose, out)
        : distance(convex.body, pose, mesh.body, place, out);
    };
    const before = measure(q);
    if (!(before > 0.001 && before < 0.3)) continue;
    let least = before;
    for (let k = 0; k < 2 ** n; k++)
      least = Math.min(least, measure(q.map((v, j) => v + ((k >> j) & 1 ? 1 : -1) * spread[j]!)));
    const d = measure(q);
    if (!(least > 0.001)) continue;
    tried++;
    bodies.begin();
    bodies.placeArm(q, spread);
    bodies.place(0);
    bodies.place(1);
    const way = bodies.ways[0]!;
    const normal = [out[7]!, out[8]!, out[9]!] as const;
    const far = normal[0] * out[4]! + normal[1] * out[5]! + normal[2] * out[6]!;
    const [a, b] = meshMoves ? [1, 0] : [0, 1];
    const ask = (keep: number) => keepsFromMesh(bodies, a, b, 0, 0, ...normal, far, keep, way);
    for (const over of [1e-9, 1e-5, 1e-3]) expect(ask(least + over), `case ${tried}, ${over} too much`).toBe(false);
    // Half of what the way would give away.
    if (ask(d - way / 2)) beyondWays++;
    if (ask(least - (d - least) / 4 - 1e-4)) granted++;
  }
  expect(granted).toBeGreaterThan(40);
  expect(beyondWays).toBeGreaterThan(25);
});
