import { expect, it } from "vitest";
import { always } from "./days/model.ts";
import { simulateDays } from "./days/simulate.ts";
import { meanInterval } from "./statistics/interval.ts";
import { type UnattendedInputs, unattendedRun } from "./unattended.ts";

const run = (inputs: object, stretch: number) =>
  unattendedRun(
    { period: 60, partsPerFilling: 96, partsPerTool: [], stopsEvery: [], ...inputs } as UnattendedInputs,
    stretch as never,
  );

it("until the trays are empty, until a tool is due, or without end", () => {
  expect(run({}, 1e9)).toMatchObject({ longest: 5760, by: "trays", mean: 5760, meanParts: 96, undisturbed: 1 });
  expect(run({ partsPerTool: [200, 50] }, 1e9)).toMatchObject({ longest: 3000, by: "tools" });
  expect(run({ partsPerFilling: undefined }, 7200)).toMatchObject({
    longest: Number.POSITIVE_INFINITY,
    by: "nothing",
    mean: 7200,
  });
});

it("stops shorten it: by hand", () => {
  const found = run({ stopsEvery: [3600, 7200] }, 1e9);
  const rate = 1 / 3600 + 1 / 7200;
  expect(found.undisturbed).toBeCloseTo(Math.exp(-5760 * rate), 12);
  expect(found.mean).toBeCloseTo((1 - Math.exp(-5760 * rate)) / rate, 9);
  expect(() => run({ stopsEvery: [0] }, 1)).toThrow(/above 0/);
});

it("agrees with the simulation of 1000 nights, seeds 0 to 999", () => {
  // People leave a moment after the beginning and come back after a day: trays full at the beginning last 6 h 40.
  const night = run({ partsPerFilling: 400, stopsEvery: [21_600] }, 24 * 3600);
  const results = Array.from(
    { length: 1000 },
    (_, seed) =>
      simulateDays(
        {
          stations: [{ name: "cell", machining: always(0), service: always(60) }],
          order: "in turn",
          stops: [{ name: "stop", station: undefined, every: 21_600 as never, time: always(60), person: true }],
          toolChanges: [],
          refill: { parts: 400, time: always(60), startUp: 0 as never },
          shift: { hours: 0.001, perDay: 1, daysPerWeek: 7 },
          people: { count: 1, response: always(0) },
          unattended: true,
          scrap: 0,
        },
        { days: 1, seed },
      ).producing,
  );
  const { mean, half } = meanInterval(results, 0.999);
  expect(Math.abs(mean - night.mean)).toBeLessThan(half!);
  expect(half! / mean).toBeLessThan(0.1);
  const undisturbed = results.filter((t) => t > 23_999).length / 1000;
  expect(Math.abs(undisturbed - night.undisturbed)).toBeLessThan(4 * Math.sqrt((0.33 * 0.67) / 1000));
});
