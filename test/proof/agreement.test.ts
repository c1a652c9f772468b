/** The proof against the cycle simulation, on random cells: what one run shows, the proof of all runs finds. */
import fc from "fast-check";
import { expect, it } from "vitest";
import type { Cell } from "../../src/cell/model.ts";
import type { Routine, Step } from "../../src/cell/steps.ts";
import { simulate } from "../../src/cycle/index.ts";
import { proveCell, type StepMotion } from "../../src/proof/index.ts";
import { timedMover } from "../cycle/builders.ts";
import { cellDraw, randomCell } from "../cycle/random-cell.ts";

const PACES = ["fastest", "nominal", "slowest"] as const;

/** Problems of a run that are troubles of the proof. Those of the text alone, such as a dwell that is too short, are not among them. */
const HAPPENS = new Set([
  ...["await-limit-passed", "process-needs-not-met", "process-already-running", "hold-nothing", "free-nothing"],
  ...["place-occupied", "moved-while-both-hold", "need-lost", "process-without-part", "process-unclamped"],
  ...[
    "process-while-held",
    "part-dropped",
    "pulses-too-close",
    "stale-input",
    "hold-already-closed",
    "free-already-open",
  ],
]);

/** The motions that `timedMover` makes. */
function motionsOf(cell: Cell): Map<string, StepMotion> {
  const motions = new Map<string, StepMotion>();
  const visit = (steps: readonly Step[]): void => {
    for (const step of steps) {
      if (step.kind === "each") visit(step.steps);
      if (step.kind === "when") visit([...step.then, ...step.otherwise]);
      if (step.kind !== "go") continue;
      const time = (step as unknown as { seconds?: number }).seconds ?? 1;
      motions.set(step.id, { shortest: time, longest: time, zones: [], endZones: [] });
    }
  };
  for (const { steps } of cell.routines.values()) visit(steps);
  return motions;
}

const small = cellDraw.map((draw) => ({ ...draw, machines: draw.machines.slice(0, 1), scan: draw.scan, passes: 10 }));

const proved = (cell: Cell) =>
  proveCell(cell, { variants: new Map([["part", motionsOf(cell)]]), faults: [], memory: 2 ** 27 }).nominal[0]!;

/** The cell with one dwell or await of its routines left out. */
function without(cell: Cell, pick: number): Cell {
  const candidates = [...cell.routines].flatMap(([name, { steps }]) =>
    steps.flatMap((step, i) => (step.kind === "dwell" || step.kind === "await" ? [{ name, i }] : [])),
  );
  const chosen = candidates[pick % candidates.length];
  if (chosen === undefined) return cell;
  const routines = new Map<string, Routine>(cell.routines);
  const { steps } = cell.routines.get(chosen.name)!;
  routines.set(chosen.name, { name: chosen.name, steps: steps.filter((_, i) => i !== chosen.i) });
  return { ...cell, routines, locate: (path) => cell.locate(path) };
}

it("holds for random cells in which every movement is waited for", () => {
  fc.assert(
    fc.property(small, (draw) => {
      const nominal = proved(randomCell(draw));
      expect([nominal.verdict, nominal.violations.map(({ sentence }) => sentence)]).toEqual(["holds", []]);
    }),
    { seed: 41, numRuns: 25 },
  );
});

it("finds something wherever a simulated run at any pace meets something", () => {
  let met = 0;
  fc.assert(
    fc.property(small, fc.nat(), (draw, pick) => {
      const cell = without(randomCell(draw), pick);
      const happened = PACES.flatMap((pace) =>
        simulate(cell, timedMover(), { variant: "part", pace }).problems.filter(({ code }) => HAPPENS.has(code)),
      );
      if (happened.length === 0) return;
      met++;
      expect(proved(cell).verdict, happened.map(({ message }) => message).join("; ")).toBe("violated");
    }),
    { seed: 42, numRuns: 60 },
  );
  // Else nothing was compared.
  expect(met).toBeGreaterThan(8);
});
