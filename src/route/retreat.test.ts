import { describe, expect, test } from "vitest";
import { benchTcp } from "../../test/arms/tending.ts";
import { benchProblem } from "../../test/clearance/route-problem.ts";
import { leastSampled } from "../../test/route/recheck.ts";
import { forwardKinematics } from "../arm/index.ts";
import { boxBody } from "../clearance/index.ts";
import { ContractError } from "../math/contract-error.ts";
import { angleBetween, compose, identityPose, translation } from "../math/pose.ts";
import { suggestRetreats } from "./retreat.ts";

const { scene, goal } = benchProblem();
/** The enclosure's bodies come after the ten of the arm. */
const enclosure = [10, 11, 12, 13, 14, 15, 16, 17, 18];
const request = { inside: goal, flangeFromTool: benchTcp, from: enclosure };

describe("ways out of the bench scene's machine", () => {
  test("straight out of the opening is as short as the depth of the part", () => {
    const outcome = suggestRetreats(scene, { ...request, samples: 0 });
    if (!outcome.ok) throw new Error(outcome.message);
    const [retreat] = outcome.retreats;
    // Against the tool's axis, which points along x. The part's end is 0.05 m ahead of the TCP, at x = 0.95; it has to come
    // back to 20 mm before the front at x = 0.55.
    expect(retreat!.direction[0]).toBeCloseTo(-1, 3);
    expect(retreat!.stroke).toBeGreaterThanOrEqual(0.4199);
    expect(retreat!.stroke).toBeLessThan(0.4225);
    expect(retreat!.deviation).toBeLessThanOrEqual(0.0002);
    expect([...retreat!.path.at(-1)!]).toEqual([...retreat!.outside]);
    expect([...retreat!.path[0]!]).toEqual([...request.inside]);
  });

  test("every way is clear, keeps the tool's orientation and stays near its line; the order is as promised", () => {
    const outcome = suggestRetreats(scene, { ...request, directions: [[-1, 0, 0.2]], samples: 24 });
    if (!outcome.ok) throw new Error(outcome.message);
    const { retreats } = outcome;
    expect(retreats.length).toBeGreaterThan(2);
    const at = (q: Float64Array) => compose(forwardKinematics(scene.arm, q, identityPose()), benchTcp);
    const start = at(request.inside);
    for (const { path, direction, stroke, clearance, deviation, outside, baseFromTool } of retreats) {
      expect(leastSampled(scene, path, 0.004).least).toBeGreaterThanOrEqual(clearance);
      expect(clearance).toBeGreaterThan(0);
      const end = at(outside);
      expect(angleBetween(start, end)).toBeLessThan(1e-7);
      for (let r = 0; r < 3; r++) {
        expect(end[4 * r + 3]! - start[4 * r + 3]!).toBeCloseTo(stroke * direction[r]!, 7);
        expect(end[4 * r + 3]).toBeCloseTo(baseFromTool[4 * r + 3]!, 12);
      }
      for (let k = 1; k < path.length; k++) {
        const pose = at(path[k]!.map((v, i) => (v + path[k - 1]![i]!) / 2));
        const way = [0, 1, 2].map((r) => pose[4 * r + 3]! - start[4 * r + 3]!);
        const along = way.reduce((sum, w, r) => sum + w * direction[r]!, 0);
        expect(Math.hypot(...way.map((w, r) => w - along * direction[r]!))).toBeLessThanOrEqual(deviation);
      }
    }
    const best = retreats.filter((a) => !retreats.some((b) => b.stroke <= a.stroke && b.clearance > a.clearance));
    expect(retreats.slice(0, best.length)).toEqual([...best].sort((a, b) => a.stroke - b.stroke));
  });

  test("from the ring alone the stroke is shorter than from the whole machine", () => {
    const ring = scene.bodies.length - 1;
    const near = suggestRetreats(scene, { ...request, from: [ring], samples: 8 });
    const far = suggestRetreats(scene, { ...request, samples: 8 });
    if (!near.ok || !far.ok) throw new Error("no retreat");
    expect(near.retreats[0]!.stroke).toBeLessThan(far.retreats[0]!.stroke);
  });

  test("where the opening is shut behind the tool there is no straight way", () => {
    // A plate behind the palm, as near as it may be; the arm's other bodies are not compared with it.
    const inside = forwardKinematics(scene.arm, request.inside, identityPose());
    const plate = { body: boxBody([0.01, 1.1, 1.1]), frame: -1, frameFromBody: translation(inside[3]! - 0.02, 0, 0.3) };
    const shut = {
      ...scene,
      bodies: [...scene.bodies, plate],
      pairs: [...scene.pairs, [7, scene.bodies.length] as const],
    };
    expect(suggestRetreats(shut, request)).toMatchObject({ ok: false, reason: "no straight way", tried: 33 });
  });

  test("a part that is not clear, and a caller's bugs", () => {
    const inWall = Float64Array.from(goal);
    inWall[0] = 0.8;
    expect(suggestRetreats(scene, { ...request, inside: inWall })).toMatchObject({
      ok: false,
      reason: "inside not clear",
    });
    inWall[0] = 4;
    expect(suggestRetreats(scene, { ...request, inside: inWall })).toMatchObject({
      ok: false,
      reason: "inside outside limits",
    });
    expect(() => suggestRetreats(scene, { ...request, from: [] })).toThrow(ContractError);
    expect(() => suggestRetreats(scene, { ...request, from: [3] })).toThrow("must name a body that is not on the arm");
    expect(() => suggestRetreats(scene, { ...request, directions: [[0, 0, 0]] })).toThrow("must have a length above 0");
  });
});
