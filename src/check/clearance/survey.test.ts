/** The survey of a whole routine against distances measured at random moments, with devices anywhere they may be. */
import { describe, expect, it } from "vitest";
import { mulberry32 } from "../../../test/arms/random.ts";
import { exampleCell } from "../../../test/cells/texts.ts";
import { distance, newDistance } from "../../clearance/index.ts";
import { poseOnSlide, slidePath } from "../../clearance/swept/slide-path.ts";
import { whereaboutsOf } from "../../cycle/index.ts";
import { compose, identityPose, type Pose } from "../../math/pose.ts";
import { checkCell } from "../check-cell.ts";
import { isPlanned } from "../mover.ts";
import type { Element } from "./elements.ts";
import { isMeant, MeantContacts } from "./meant-contacts.ts";
import { armFrames } from "./settled-pairs.ts";

/** Random moments of each cell. */
const SAMPLES = 400;

describe.each([
  ["mill", false],
  ["two-lathes", true],
] as const)("the demo cell %s", (name, slides) => {
  const cell = exampleCell(name);
  const outcome = checkCell(cell);
  if (!outcome.ok) throw new Error("cancelled");
  const { clearance, arm, runs } = outcome;
  const { builder } = clearance;
  const frames = armFrames(arm);
  const trial = newDistance();

  const baseFrom = ({ frame, frameFromBody, slide }: Element, moved: Float64Array, share: number): Pose => {
    const owner = identityPose();
    if (slide !== undefined) poseOnSlide(slidePath(slide), share, owner, 0);
    else if (frame >= 0) owner.set(moved.subarray(12 * frame, 12 * frame + 12));
    else return frameFromBody;
    owner[15] = 1;
    return compose(owner, frameFromBody);
  };
  const gap = (a: Element, b: Element, moved: Float64Array, share: number) =>
    distance(a.body, baseFrom(a, moved, share), b.body, baseFrom(b, moved, share), trial);

  it("finds no sampled moment nearer than what is certified", () => {
    const random = mulberry32(11);
    const certified = new Map(clearance.steps.map(({ step, lower }) => [step.id, lower]));
    const state = { q: new Float64Array(arm.n), qd: new Float64Array(arm.n), qdd: new Float64Array(arm.n) };
    let slid = 0;
    for (const { nominal, slowest, fastest } of runs.values()) {
      const places = whereaboutsOf(cell, [nominal, slowest, fastest]);
      const meant = new MeantContacts(cell, nominal);
      for (let k = 0; k < SAMPLES; k++) {
        const index = Math.floor(random() * nominal.moves.length);
        const { outcome: made, steps, context, resting } = nominal.moves[index]!;
        if (!made.ok || !isPlanned(made.motion)) continue;
        const { motion } = made.motion;
        const step = Math.floor(random() * steps.length);
        const from = step === 0 ? 0 : motion.segmentEnds[step - 1]!;
        motion.sample(from + random() * (motion.segmentEnds[step]! - from), state);
        const moved = frames(state.q);
        const share = random();
        const own = builder.carried(context.held);
        const others = builder.around(resting, places.moves[index]![step]!);
        const contacts = meant.of(index, step);
        let least = Number.POSITIVE_INFINITY;
        own.forEach((a, i) => {
          for (let j = i + 1; j < own.length; j++)
            if (builder.mayMeet(a, own[j]!)) least = Math.min(least, gap(a, own[j]!, moved, share));
          if (a.link === 0) return;
          for (const b of others) {
            if (b.group === "person" || isMeant(contacts, a, b)) continue;
            if (b.slide !== undefined) slid++;
            least = Math.min(least, gap(a, b, moved, share));
          }
        });
        expect(least, `${steps[step]!.id} at ${state.q.join()}`).toBeGreaterThanOrEqual(
          certified.get(steps[step]!.id)! - 1e-9,
        );
      }
    }
    // Doors that open or close while the arm moves.
    expect(slid > 0).toBe(slides);
  });

  it("tells distances that are there: at the state told, the two bodies are that far apart", () => {
    for (const { nearest, lower } of clearance.steps) {
      if (nearest === undefined) continue;
      const found = gap(nearest.pair[0], nearest.pair[1], frames(nearest.q), nearest.share);
      expect(found).toBeCloseTo(nearest.upper, 9);
      expect(lower).toBeLessThanOrEqual(nearest.upper);
      expect(nearest.upper - lower).toBeLessThanOrEqual(0.0002 + 1e-9);
    }
  });

  it("draws what it tells: the scene has both bodies, the witnesses that far apart", () => {
    const scene = outcome.picture()!;
    const { pair, witness } = scene;
    expect([scene.bodies[pair![0]]!.name, scene.bodies[pair![1]]!.name]).toEqual(outcome.report.clearance!.pair);
    const way = Math.hypot(...witness!.a.map((v, i) => v - witness!.b[i]!));
    expect(way).toBeCloseTo(outcome.report.clearance!.min_m, 9);
    expect(scene.bodies.every(({ worldFromBody }) => worldFromBody.every(Number.isFinite))).toBe(true);
  });
});
