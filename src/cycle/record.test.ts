import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { timedMover } from "../../test/cycle/builders.ts";
import { type CellDraw, cellDraw, randomCell } from "../../test/cycle/random-cell.ts";
import { buildNetwork, earlyTimes } from "./network.ts";
import { runRoutine } from "./routine-run.ts";
import type { CycleRun } from "./run.ts";
import { simulate } from "./simulate.ts";
import type { Mover, Pace } from "./types.ts";

const SEED = 20261125;
const PACES: Pace[] = ["fastest", "nominal", "slowest"];
const at = (draw: CellDraw, pace: Pace, mover: Mover<unknown> = timedMover(), more = 0): CycleRun<unknown> =>
  simulate(randomCell(draw, more), mover, { variant: "part", pace });

/** A mover that makes chosen calls (counted from 0) or steps longer. */
function slowed(extra: (call: number, stepId: string) => number): Mover<unknown> {
  const plain = timedMover();
  let call = 0;
  return {
    ...plain,
    go(chain, context) {
      const outcome = plain.go(chain, context);
      if (!outcome.ok) return outcome;
      const more = extra(call++, chain[0]!.id);
      return { ...outcome, duration: outcome.duration + more, perStep: [outcome.perStep[0]! + more] };
    },
  };
}

describe("records of random cells without races", () => {
  it("show no problem, finish every part and leave no gap on the arm's lane", () => {
    fc.assert(
      fc.property(cellDraw, fc.constantFrom(...PACES), (draw, pace) => {
        const record = at(draw, pace);
        expect(record.problems).toEqual([]);
        expect(record.outcome).toBe("complete");
        expect(record.partsFinished).toBe((draw.passes - 1) * draw.machines.length);
        let end = 0;
        for (const a of record.activities) {
          expect(a.end).toBeGreaterThanOrEqual(a.start);
          for (const before of a.after) expect(record.activities[before]!.start).toBeLessThanOrEqual(a.end);
          if (a.lane !== "arm") continue;
          expect(a.start).toBe(end);
          end = a.end;
        }
        expect(end).toBe(record.duration);
      }),
      { seed: SEED, numRuns: 30 },
    );
  });

  it("are the same every time", () => {
    fc.assert(
      fc.property(cellDraw, (draw) => {
        expect(JSON.stringify(at(draw, "nominal"))).toBe(JSON.stringify(at(draw, "nominal")));
      }),
      { seed: SEED, numRuns: 10 },
    );
  });

  it("are explained by their own network: no activity begins or ends later than its arcs ask for", () => {
    fc.assert(
      fc.property(cellDraw, fc.constantFrom(...PACES), (draw, pace) => {
        const { world } = runRoutine(randomCell(draw), timedMover(), { variant: "part", pace });
        const network = buildNetwork(world.log.drafts, world.log.arcs);
        const early = earlyTimes(network);
        early.forEach((time, event) => {
          expect(Math.abs(time - network.time[event]!)).toBeLessThan(1e-9);
        });
        // Only the arm's first step begins without a cause.
        const caused = new Set(world.log.arcs.filter((arc) => arc.to % 2 === 0).map((arc) => arc.to >> 1));
        expect(world.log.drafts.filter((d) => !caused.has(d.index)).map((d) => d.index)).toEqual([0]);
      }),
      { seed: SEED, numRuns: 30 },
    );
  });

  it("have a period that grows with the pace and with machining time, never below the robot's or a machine's own time", () => {
    fc.assert(
      fc.property(cellDraw, (draw) => {
        const [fastest, nominal, slowest] = PACES.map((pace) => at(draw, pace)) as [
          CycleRun<unknown>,
          CycleRun<unknown>,
          CycleRun<unknown>,
        ];
        const longer = at(draw, "nominal", timedMover(), 5);
        expect(fastest.period).toBeLessThanOrEqual(nominal.period + 1e-9);
        expect(nominal.period).toBeLessThanOrEqual(slowest.period + 1e-9);
        expect(nominal.period).toBeLessThanOrEqual(longer.period + 1e-9);
        for (const record of [fastest, nominal, slowest, longer]) {
          expect(record.period).toBeGreaterThanOrEqual(record.robot_s - 1e-9);
          expect(record.period).toBeGreaterThanOrEqual(record.machine_s - 1e-9);
          const sum = [...record.bound.shares.values()].reduce((a, b) => a + b, 0);
          expect(Math.abs(sum - 1)).toBeLessThan(1e-6);
        }
      }),
      { seed: SEED, numRuns: 30 },
    );
  });

  it("have slack that is exactly the time by which one motion can last longer without lengthening the run", () => {
    fc.assert(
      fc.property(cellDraw, fc.nat(), (draw, pick) => {
        const record = at(draw, "nominal");
        const move = record.moves[pick % record.moves.length]!;
        const call = record.moves.indexOf(move);
        const { slack, critical } = record.activities[move.activity]!;
        const within = at(
          draw,
          "nominal",
          slowed((c) => (c === call ? slack : 0)),
        );
        expect(within.duration).toBeCloseTo(record.duration, 9);
        const beyond = at(
          draw,
          "nominal",
          slowed((c) => (c === call ? slack + 0.25 : 0)),
        );
        expect(beyond.duration).toBeCloseTo(record.duration + 0.25, 9);
        expect(critical).toBe(slack === 0);
      }),
      { seed: SEED, numRuns: 30 },
    );
  });

  it("have steady slack that is exactly the time by which a motion can last longer in every pass", () => {
    fc.assert(
      fc.property(cellDraw, fc.nat(), (draw, pick) => {
        // Enough passes for any stock of waiting time to be used up.
        const long = { ...draw, passes: 40 };
        const record = at(long, "nominal");
        fc.pre(record.steady.basis === "repeating passes");
        const steps = [...new Set(record.moves.filter((m) => m.pass > 0).map((m) => m.steps[0]!.id))];
        const step = steps[pick % steps.length]!;
        const slack = record.slack.get(step)!.steady_s;
        const within = at(
          long,
          "nominal",
          slowed((_, id) => (id === step ? slack : 0)),
        );
        expect(within.period).toBeCloseTo(record.period, 6);
        const beyond = at(
          long,
          "nominal",
          slowed((_, id) => (id === step ? slack + 0.5 : 0)),
        );
        expect(beyond.period).toBeGreaterThan(record.period + 1e-6);
      }),
      { seed: SEED, numRuns: 12 },
    );
  });
});
