import fc from "fast-check";
import { expect, it } from "vitest";
import {
  drive,
  dwell,
  each,
  free,
  go,
  hold,
  off,
  on,
  press,
  pulse,
  run,
  timedMover,
  wait,
  when,
} from "../../test/cycle/builders.ts";
import { type Steps, shop } from "../../test/cycle/shop.ts";
import { buildNetwork, earlyTimes } from "./network.ts";
import { runRoutine } from "./routine-run.ts";
import { simulate } from "./simulate.ts";

const time = fc.constantFrom(0, 0.005, 0.01, 0.1, 0.2, 0.3, 0.5, 1, 5);
const holder = fc.constantFrom("raw", "finished", "picky", "others", "mill.vise", "mill.chuck");
const output = fc.constantFrom(
  "grip",
  "clamp",
  "toggle",
  "door-open",
  "door-close",
  "lamp-on",
  "lamp-off",
  "start",
  "wash",
);
const signal = fc.constantFrom(
  "vise-open",
  "vise-closed",
  "door-is-open",
  "door-is-closed",
  "done",
  "washed",
  "button",
  "nobody",
  "start",
);
const condition = fc.oneof(
  fc.tuple(signal, fc.boolean()).map(([s, is]) => (is ? on(s) : off(s))),
  fc
    .tuple(fc.constantFrom("all" as const, "any" as const), fc.array(signal, { maxLength: 3 }))
    .map(([kind, of]) => ({ kind, of: of.map(on) })),
);

/** Steps in any order, sensible or not. */
const steps = fc.letrec<{ list: Steps; step: Steps[number] }>((tie) => ({
  list: fc.array(tie("step"), { maxLength: 12 }),
  step: fc.oneof(
    { depthSize: "small", withCrossShrink: true },
    fc
      .tuple(fc.oneof(holder, fc.constant("a")), time, fc.constantFrom(0, 0.02))
      .map(([to, seconds, blend]) => go(to, { seconds, blend })),
    holder.map((h) => hold("grip", h)),
    holder.map((h) => free("grip", h)),
    fc.tuple(output, fc.boolean()).map(([s, to]) => drive(s, to)),
    fc.tuple(output, time).map(([s, width]) => pulse(s, width)),
    time.map(dwell),
    time.map(press),
    fc
      .tuple(condition, fc.option(time, { nil: undefined }), fc.boolean())
      .map(([c, limit, flees]) =>
        wait(c, { limit, otherwise: flees ? { kind: "run", routine: "other" } : { kind: "stop" } }),
      ),
    fc.constant(run("other")),
    tie("list").map((list) => each(["raw", "finished"], list)),
    tie("list").map((list) => each(3, list)),
    fc
      .tuple(condition, tie("list"), tie("list"), fc.constantFrom("first" as const, "last" as const))
      .map(([c, a, b, which]) => when({ kind: "any", of: [c, { kind: "pass", which }] }, a, b)),
  ),
}));

it("simulates any routine to an end, with a record that adds up", () => {
  fc.assert(
    fc.property(steps.list, fc.constantFrom("fastest", "nominal", "slowest"), (main, pace) => {
      const cell = shop(main, { extra: { other: [go("b"), dwell(0.1)] } });
      const options = { variant: "part", pace, maxSteps: 2000 } as const;
      const record = simulate(cell, timedMover(), options);
      expect(["complete", "stopped", "deadlock", "too many steps"]).toContain(record.outcome);
      expect(Number.isFinite(record.period) && record.period >= 0).toBe(true);
      for (const a of record.activities) {
        expect(a.end).toBeGreaterThanOrEqual(a.start);
        expect(a.slack).toBeGreaterThanOrEqual(0);
        expect(Number.isNaN(a.slack)).toBe(false);
      }
      for (const problem of record.problems) expect(problem.message).not.toMatch(/undefined|NaN|\[object/);
      const arm = record.activities.filter((a) => a.lane === "arm");
      expect(arm.at(-1)?.end ?? 0).toBe(record.duration);
      expect(arm.every((a, i) => a.start === (arm[i - 1]?.end ?? 0))).toBe(true);
      // No arc asks for more than what happened.
      const { world } = runRoutine(cell, timedMover(), options);
      const network = buildNetwork(world.log.drafts, world.log.arcs);
      earlyTimes(network).forEach((early, event) => {
        expect(early).toBeLessThanOrEqual(network.time[event]! + 1e-9);
      });
      // A part is in one gripper at most, and nowhere twice.
      const tokens = record.completions.map((c) => c.token);
      expect(new Set(tokens).size).toBe(tokens.length);
    }),
    { seed: 20261125, numRuns: 500 },
  );
});
