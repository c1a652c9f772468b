import { describe, expect, test } from "vitest";
import { exampleCell } from "../../test/cells/texts.ts";
import type { Seconds } from "../math/units.ts";
import { createRetiming } from "./retime.ts";
import { simulate } from "./simulate.ts";
import type { Mover } from "./types.ts";

/** A mover whose step takes its base time scaled by a factor of the step. */
function moverOf(factor: (stepId: string) => number): Mover {
  const timeOf = (id: string) => (0.5 + 0.1 * (id.length % 7)) * factor(id);
  return {
    go(chain, { q }) {
      const perStep = chain.map(({ id }) => timeOf(id) as Seconds);
      return {
        ok: true,
        duration: perStep.reduce((a, b) => a + b, 0) as Seconds,
        perStep,
        end: q,
        motion: undefined,
      };
    },
    press: ({ id }, { q }) => ({
      ok: true,
      duration: timeOf(id) as Seconds,
      perStep: [timeOf(id) as Seconds],
      end: q,
      motion: undefined,
    }),
  };
}

describe("the period with other durations equals that of a run with them", () => {
  for (const [example, variant] of [
    ["lathe", "long"],
    ["mill", undefined],
    ["two-lathes", undefined],
  ] as const)
    test.each([0.2, 1, 1.7, 6])(`${example}, steps up to %d times as long`, (most) => {
      const cell = exampleCell(example);
      const of = { variant: variant ?? [...cell.parts.keys()][0]!, pace: "nominal" as const };
      // Different for every step, the same in every pass.
      const factor = (id: string) => 1 + (most - 1) * ((id.charCodeAt(id.length - 2) % 10) / 9);
      const base = simulate(
        cell,
        moverOf(() => 1),
        of,
      );
      const changed = simulate(cell, moverOf(factor), of);
      const work = new Float64Array(base.activities.length).fill(Number.NaN);
      for (const { lane, kind, index, stepId, start, end } of base.activities)
        if (lane === "arm" && (kind === "motion" || kind === "press")) work[index] = (end - start) * factor(stepId!);
      const retiming = createRetiming(base);
      expect(base.outcome).toBe("complete");
      expect(retiming.period(new Float64Array(work.length).fill(Number.NaN))).toBeCloseTo(base.period, 9);
      expect(retiming.period(work)).toBeCloseTo(changed.period, 6);
    });
});
