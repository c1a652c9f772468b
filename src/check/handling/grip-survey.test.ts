import { describe, expect, it } from "vitest";
import { smallLathe, textSource } from "../../../test/cells/texts.ts";
import { buildArm, forwardKinematics } from "../../arm/index.ts";
import { type Cell, formatIssue, loadCell } from "../../cell/index.ts";
import { type CycleRun, simulate } from "../../cycle/index.ts";
import { compose, translation } from "../../math/pose.ts";
import type { MotionFailure } from "../../motion/index.ts";
import { flangeFromHeldPart } from "../load.ts";
import { createMover, movesMade } from "../mover.ts";
import { piecesOf } from "./along.ts";
import { gripReports } from "./grip-report.ts";
import { surveyGrips } from "./grip-survey.ts";

function cellOf(change: (text: string) => string = (text) => text): Cell {
  const loaded = loadCell("cell.yaml", textSource({ "cell.yaml": change(smallLathe) }));
  if (!loaded.ok) throw new Error(loaded.issues.map(formatIssue).join("\n"));
  return loaded.value;
}

function runOf(cell: Cell): CycleRun<MotionFailure> {
  return simulate(cell, createMover(cell, buildArm(cell.arm)), { variant: "short", pace: "nominal" });
}

const cell = cellOf();
const arm = buildArm(cell.arm);
const run = runOf(cell);

describe("the load on a grip", () => {
  const survey = surveyGrips(cell, arm, [run]);

  it("is that of accelerations found by differences of positions along the same motions", () => {
    const h = 1e-4;
    let compared = 0;
    const worst = new Map<string, number>();
    const state = { q: new Float64Array(arm.n), qd: new Float64Array(arm.n), qdd: new Float64Array(arm.n) };
    for (const { context, move } of movesMade([run])) {
      const held = context.held.get("gripper");
      if (held === undefined) continue;
      const { inertia } = cell.parts.get(held.part)!.stages.find((s) => s.name === held.stage)!;
      const flangeFromCentre = compose(flangeFromHeldPart(cell, "gripper", held), translation(...inertia.centre));
      const worldAt = (time: number) => {
        move.motion.sample(time, state);
        return compose(cell.worldFromBase, forwardKinematics(arm, state.q, new Float64Array(16)));
      };
      const { motion } = move;
      const pieces = piecesOf(motion);
      for (let k = 1; k < pieces; k++) {
        const time = (motion.duration * k) / pieces;
        const centre = [-h, 0, h].map((dt) => compose(worldAt(time + dt), flangeFromCentre));
        const a = [3, 7, 11].map((i) => (centre[0]![i]! - 2 * centre[1]![i]! + centre[2]![i]!) / h ** 2);
        const force = a.map((value, i) => inertia.mass * (value - cell.gravity[i]!));
        const tool = compose(worldAt(time), cell.tool.grippers.get("gripper")!.flangeFromTcp);
        const inTool = [0, 1, 2].map((c) => tool[c]! * force[0]! + tool[4 + c]! * force[1]! + tool[8 + c]! * force[2]!);
        const need = 2 * Math.max(Math.hypot(inTool[1]!, inTool[2]!) / (2 * 0.15), Math.abs(inTool[0]!) / 2);
        worst.set(held.stage, Math.max(worst.get(held.stage) ?? 0, need));
        compared++;
      }
    }
    expect(compared).toBeGreaterThan(1000);
    const { stages } = survey.grips[0]!;
    expect(stages.map((s) => s.stage.name)).toEqual(["raw", "turned"]);
    // Differences blur the corners of the acceleration; ends of motions are looked at by the survey only.
    for (const { stage, motion } of stages) {
      expect(motion!.rank / worst.get(stage.name)!).toBeGreaterThan(0.99);
      expect(motion!.rank / worst.get(stage.name)!).toBeLessThan(1.05);
    }
  });

  it("is never less than the weight, and never more than the handbook's force for the largest acceleration", () => {
    for (const { stages } of survey.grips)
      for (const { stage, motion, acceleration } of stages) {
        const { mass } = stage.inertia;
        expect(motion!.rank).toBeGreaterThan((2 * mass * 9.8) / (2 * 0.15) - 1e-6);
        expect(motion!.rank).toBeLessThanOrEqual((2 * mass * (9.80665 + acceleration)) / (2 * 0.15) + 1e-9);
      }
  });

  it("names a moment inside the step that it is in", () => {
    const { motion } = survey.grips[0]!.stages[0]!;
    const use = run.slack.get(motion!.moment.step)!;
    expect(motion!.moment.time_s).toBeGreaterThanOrEqual(0);
    expect(motion!.moment.time_s).toBeLessThanOrEqual(use.max_s + 1e-9);
  });
});

describe("a stop", () => {
  it("takes the stated time: half of it asks for about twice the deceleration", () => {
    const stopping = (time: string) =>
      cellOf((text) => `${text}\nguarding: { stopping: { stopping time: ${time} } }\n`);
    const [slow, fast] = ["0.4 s", "0.2 s"].map((time) => surveyGrips(stopping(time), arm, [run]));
    expect(slow!.stop!.by).toContain("0.4 s");
    const of = (survey: typeof slow) => survey!.grips[0]!.stages[0]!.stop!;
    expect(of(fast).rank).toBeGreaterThan(of(slow).rank);
    expect(of(fast).acceleration).toBeGreaterThan(of(slow).acceleration);
  });

  it("without a stated time keeps every joint inside its acceleration limit and uses one of them up", () => {
    const { stop } = surveyGrips(cell, arm, [run]);
    const qd = Float64Array.of(1, -2, 0.5, 3, 0, -1);
    const out = new Float64Array(6);
    stop!.decelerate(qd, out);
    const shares = [...out].map((a, i) => Math.abs(a) / arm.acceleration[i]!);
    expect(Math.max(...shares)).toBeCloseTo(1, 12);
    // Against the speeds, all at rest at the same time.
    const times = [...out].flatMap((a, i) => (qd[i] === 0 ? [] : [-qd[i]! / a]));
    for (const time of times) expect(time).toBeCloseTo(times[0]!, 12);
    stop!.decelerate(new Float64Array(6), out);
    expect([...out]).toEqual([0, 0, 0, 0, 0, 0]);
  });

  it("is unknowable, and said so, without accelerations and stopping time", () => {
    const bare = cellOf((text) => text.replaceAll(/, acceleration: \d+ deg\/s\^2, +jerk: \d+ deg\/s\^3/g, ""));
    const bareArm = buildArm(bare.arm);
    expect(bareArm.acceleration.every((a) => a === Number.POSITIVE_INFINITY)).toBe(true);
    const [report] = gripReports(bare, surveyGrips(bare, bareArm, [run]));
    expect(report!.sizing.stop).toBeNull();
    expect(report!.cautions.join()).toContain("no stop computed");
  });
});

describe("friction of wet parts", () => {
  const needs = (grip: string) => {
    const changed = cellOf((text) => text.replace("width: 30 mm, way: friction }", `width: 30 mm${grip} }`));
    const [report] = gripReports(changed, surveyGrips(changed, arm, [run]));
    return report!;
  };

  it("counts from the second stage on", () => {
    const dry = needs("");
    const oily = needs(", oily friction: 0.05");
    const stage = (report: typeof dry, i: number) => report.sizing.stages[i]!;
    expect(stage(oily, 0)).toEqual(stage(dry, 0));
    expect(stage(oily, 1).motion_N! / stage(dry, 1).motion_N!).toBeCloseTo(3, 9);
    expect(stage(oily, 1).frictionFrom).toBe("of the grip, oily");
    expect(dry.cautions.join()).toContain("no oily friction is stated");
    expect(oily.cautions.join()).not.toContain("no oily friction is stated");
  });

  it("of form fit is not asked for", () => {
    const form = needs(", way: form");
    expect(form.needed_N).toBeLessThan(10);
    expect(form.sizing.method).toBe("two jaws, form fit");
  });
});
