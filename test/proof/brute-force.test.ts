/** The proof agrees with an exploration of the cell itself, tick by tick, on tiny random routines. */
import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { asCell, bruteForce, type PlainStep } from "./brute-force.ts";
import { troublesOf } from "./verdict.ts";

const within = (max: number) =>
  fc
    .tuple(fc.integer({ min: 0, max: max - 1 }), fc.integer({ min: 1, max }))
    .map(([a, b]) => [Math.min(a, b - 1), b] as const);
const place = fc.constantFrom("raw" as const, "clamp" as const);

const step: fc.Arbitrary<PlainStep> = fc.oneof(
  { weight: 3, arbitrary: fc.record({ do: fc.constant("go" as const), to: place, time: within(3) }) },
  { weight: 2, arbitrary: fc.record({ do: fc.constantFrom("hold" as const, "free" as const), at: place }) },
  { weight: 2, arbitrary: fc.record({ do: fc.constant("drive" as const), on: fc.boolean() }) },
  { weight: 3, arbitrary: fc.record({ do: fc.constant("dwell" as const), time: fc.integer({ min: 1, max: 5 }) }) },
  {
    weight: 2,
    arbitrary: fc.record({
      do: fc.constant("await" as const),
      signal: fc.constantFrom("open" as const, "closed" as const),
      is: fc.boolean(),
      limit: fc.integer({ min: 1, max: 6 }),
    }),
  },
);
/** Sensible beginnings, so that what comes after a part is held is reached often enough. */
const beginning = fc.constantFrom<readonly PlainStep[]>(
  [],
  [
    { do: "go", to: "raw", time: [1, 2] },
    { do: "hold", at: "raw" },
    { do: "dwell", time: 4 },
  ],
  [
    { do: "go", to: "clamp", time: [0, 2] },
    { do: "hold", at: "clamp" },
  ],
  [
    { do: "go", to: "raw", time: [1, 2] },
    { do: "hold", at: "raw" },
    { do: "dwell", time: 4 },
    { do: "go", to: "clamp", time: [1, 3] },
    { do: "drive", on: true },
  ],
);
const plain = fc
  .record({
    jaws: within(4),
    clamp: within(5),
    onMeans: fc.constantFrom("open" as const, "closed" as const),
    scan: fc.integer({ min: 0, max: 2 }),
    raw: fc.boolean(),
    clamped: fc.boolean(),
    beginning,
    rest: fc.array(step, { minLength: 1, maxLength: 6 }),
  })
  .map(({ beginning, rest, ...more }) => ({ ...more, steps: [...beginning, ...rest] }));

describe("the proof", () => {
  it("finds the same kinds of trouble as ticks do, in 400 random routines", () => {
    const seen = new Map<string, number>();
    fc.assert(
      fc.property(plain, (drawn) => {
        const { cell, motions } = asCell(drawn);
        const ours = [...new Set(troublesOf(cell, "part", motions).map(({ kind }) => kind))].sort();
        const ticks = [...bruteForce(drawn)].sort();
        for (const kind of ticks.length === 0 ? ["none"] : ticks) seen.set(kind, (seen.get(kind) ?? 0) + 1);
        expect(ours).toEqual(ticks);
      }),
      { numRuns: 400, seed: 11 },
    );
    // Every kind that such a cell can show was met (jaws that close on nothing end it before they could open on nothing), and so was none.
    expect([...seen.keys()].sort()).toEqual([
      "free-already-open",
      "freed-before-clamped",
      "freed-unclamped",
      "hold-already-closed",
      "hold-nothing",
      "limit-passed",
      "moved-before-clamp",
      "moved-before-jaws",
      "moved-while-both-hold",
      "none",
      "place-occupied",
      "released-unheld",
      "stale-input",
      "unclamped-before-held",
    ]);
  }, 120_000);
});
