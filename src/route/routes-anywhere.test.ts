/** Found routes in random scenes: always as promised, found where one was planted. */
import { describe, expect, test } from "vitest";
import { mulberry32 } from "../../test/arms/random.ts";
import { leastSampled } from "../../test/route/recheck.ts";
import { planarArm } from "../../test/route/simple-arms.ts";
import { boxBody, capsuleBody, cylinderBody, sphereBody } from "../clearance/index.ts";
import type { SweptBody } from "../clearance/swept/types.ts";
import { compose, rotationAbout, translation } from "../math/pose.ts";
import { createRouter } from "./router.ts";
import type { RouteScene } from "./types.ts";

/** Capsules lie along their own z. */
function alongX(x: number): Float64Array {
  return Float64Array.of(0, 0, 1, x, 0, 1, 0, 0, -1, 0, 0, 0, 0, 0, 0, 1);
}

function crowded(random: () => number): RouteScene {
  const between = (low: number, high: number) => low + (high - low) * random();
  const bodies: SweptBody[] = [0.4, 0.3, 0.2].map((length, frame) => ({
    body: capsuleBody(0.02, length),
    frame,
    frameFromBody: alongX(length / 2),
  }));
  for (let k = 0; k < 6; k++) {
    const turn = between(-Math.PI, Math.PI),
      away = between(0.25, 0.9);
    const place = translation(away * Math.cos(turn), away * Math.sin(turn), 0);
    const bodiesOfKind = [sphereBody(0.06), boxBody([0.1, 0.06, 0.2]), cylinderBody(0.05, 0.2)];
    bodies.push({ body: bodiesOfKind[k % 3]!, frame: -1, frameFromBody: place });
  }
  // A gate that may stand anywhere between open and shut.
  const hinge = translation(0.7 * Math.cos(random()), 0.7 * Math.sin(random()), 0);
  const shut = rotationAbout([0, 0, 1], between(0.2, 0.6));
  for (const c of [3, 7, 11]) shut[c] = hinge[c]!;
  bodies.push({ body: boxBody([0.2, 0.02, 0.2]), frame: -1, slide: 0, frameFromBody: translation(0.1, 0, 0) });
  return {
    arm: planarArm([0.4, 0.3, 0.2], 2.8),
    bodies,
    slides: [{ baseFromOwnerStart: hinge, baseFromOwnerEnd: shut }],
    pairs: [[0, 2], ...[0, 1, 2].flatMap((link) => bodies.slice(3).map((_, k) => [link, k + 3] as const))],
    margin: random() < 0.5 ? 0 : 0.01,
  };
}

/** The scene with its gate standing at a share of its way. */
function frozen(scene: RouteScene, share: number): RouteScene {
  const { baseFromOwnerStart, baseFromOwnerEnd } = scene.slides[0]!;
  const owner = rotationAbout([0, 0, 1], share * Math.atan2(baseFromOwnerEnd[4]!, baseFromOwnerEnd[0]!));
  for (const c of [3, 7, 11]) owner[c] = baseFromOwnerStart[c]!;
  const bodies = scene.bodies.map(({ body, frame, frameFromBody, slide }) => ({
    body,
    frame,
    frameFromBody: slide === undefined ? frameFromBody : compose(owner, frameFromBody),
  }));
  return { ...scene, slides: [], bodies };
}

describe("routes among random bodies", () => {
  test("every route keeps the margin and the limits, wherever the gate stands", () => {
    const random = mulberry32(99);
    let routes = 0,
      bent = 0,
      proved = 0,
      open = 0;
    for (let k = 0; k < 40; k++) {
      const scene = crowded(random);
      const router = createRouter(scene);
      const start = Float64Array.from({ length: 3 }, () => 5 * (random() - 0.5)),
        goal = Float64Array.from({ length: 3 }, () => 5 * (random() - 0.5));
      const outcome = router.find({ start, goals: [goal], seed: k, states: 60_000 });
      if (!outcome.ok) {
        if (outcome.reason === "no way") proved++;
        if (outcome.reason === "not found") open++;
        continue;
      }
      routes++;
      if (outcome.path.length > 2) bent++;
      for (const share of [0, 0.37, 1]) {
        const { least, outside } = leastSampled(frozen(scene, share), outcome.path, 0.004);
        expect(outside).toBe(false);
        expect(least).toBeGreaterThanOrEqual(outcome.clearance);
      }
      expect(outcome.clearance).toBeGreaterThanOrEqual(scene.margin);
      // Backwards there is a way as well.
      expect(router.find({ start: goal, goals: [start], seed: k }).ok).toBe(true);
    }
    expect(routes).toBeGreaterThan(5);
    expect(bent).toBeGreaterThan(3);
    expect(open + proved).toBeLessThan(routes);
  });

  test("a goal that may be reached by either of two turns is reached by the shorter; none is wrapped silently", () => {
    const scene: RouteScene = { ...crowded(mulberry32(1)), bodies: [], pairs: [], slides: [] };
    const goal = (first: number) => Float64Array.of(first, 0, 0);
    const router = createRouter(scene);
    const both = router.find({ start: goal(2.5), goals: [goal(-2.7), goal(2.7)], seed: 1 });
    expect(both).toMatchObject({ ok: true, goal: 1 });
    const one = router.find({ start: goal(2.5), goals: [goal(-2.7)], seed: 1 });
    expect(one.ok && one.length).toBeCloseTo(5.2, 12);
    expect([...(one.ok ? one.path.at(-1)! : [])]).toEqual([-2.7, 0, 0]);
  });

  test("a scene with no bodies and a start that is the goal", () => {
    const scene: RouteScene = { ...crowded(mulberry32(1)), bodies: [], pairs: [], slides: [] };
    const q = Float64Array.of(0.1, 0.2, 0.3);
    const same = createRouter(scene).find({ start: q, goals: [q], seed: 1 });
    expect(same).toMatchObject({ ok: true, length: 0 });
  });
});
