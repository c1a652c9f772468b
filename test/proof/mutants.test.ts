/**
 * From routines that are proved sound, every slip that a person might make; what it does was argued by hand in the tables before the
 * proof was asked. What the tables call dangerous must be caught as what it is, and nothing harmless may be flagged.
 */
import { describe, expect, it } from "vitest";
import type { Cell } from "../../src/cell/index.ts";
import { ClearanceMemory } from "../../src/check/clearance/memory.ts";
import { checkCell } from "../../src/check/index.ts";
import { MotionMemory } from "../../src/motion/index.ts";
import { proveCell } from "../../src/proof/index.ts";
import { exampleCell } from "../cells/texts.ts";
import { givenMotions } from "./given-motions.ts";
import { LATHE_MUTANTS } from "./lathe-mutants.ts";
import { MILL_MUTANTS } from "./mill-mutants.ts";
import type { Argued, MutantTable } from "./mutant-table.ts";
import { mutantsOf } from "./mutants.ts";
import { SERVED_ROUTINES, TWO_LATHES_MUTANTS } from "./two-lathes-mutants.ts";
import { canMeet, troublesOf } from "./verdict.ts";

interface Case {
  readonly name: string;
  readonly cell: Cell;
  readonly variant: string;
  /** Undefined: all. */
  readonly routines?: readonly string[];
  readonly table: MutantTable;
}

const CASES: readonly Case[] = [
  { name: "lathe", cell: exampleCell("lathe"), variant: "short", table: LATHE_MUTANTS },
  { name: "mill", cell: exampleCell("mill"), variant: "block", table: MILL_MUTANTS },
  {
    name: "two-lathes",
    cell: exampleCell("two-lathes"),
    variant: "flange",
    routines: SERVED_ROUTINES,
    table: TWO_LATHES_MUTANTS,
  },
];

describe.each(CASES)("slips in the $name demo", ({ cell, variant, routines, table }) => {
  const mutants = mutantsOf(cell, routines);
  const of = (is: Argued["is"]) => mutants.filter(({ name }) => table[name]?.is === is);

  it("are all argued, and no others", () => {
    expect(mutants.map(({ name }) => name).sort()).toEqual(Object.keys(table).sort());
  });

  it("the routine itself is proved", () => {
    const [proof] = proveCell(cell, {
      variants: new Map([[variant, givenMotions(cell, variant)]]),
      faults: [],
    }).nominal;
    expect(proof).toMatchObject({ verdict: "holds", violations: [] });
  });

  it("are caught as what they are when they are dangerous or out of order", () => {
    const wrong = [...of("dangerous"), ...of("order fault")].flatMap((mutant) => {
      const argued = table[mutant.name]!;
      const motions = givenMotions(mutant.cell, variant);
      if (argued.is !== "harmless" && canMeet(mutant.cell, variant, motions, new Set(argued.as))) return [];
      const found = troublesOf(mutant.cell, variant, motions).map(({ kind }) => kind);
      return [`${mutant.name}: argued ${JSON.stringify(argued)}, found ${found.join()}`];
    });
    expect(wrong).toEqual([]);
  }, 300_000);

  it("are not flagged when they are harmless", () => {
    const wrong = of("harmless").flatMap((mutant) => {
      const motions = new Map([[variant, givenMotions(mutant.cell, variant)]]);
      const [proof] = proveCell(mutant.cell, { variants: motions, faults: [] }).nominal;
      if (proof!.verdict === "holds") return [];
      return [`${mutant.name}: ${proof!.verdict} ${proof!.violations.map((v) => v.trouble.kind).join()}`];
    });
    expect(wrong).toEqual([]);
  }, 300_000);

  it("are told by the check where the arm stands or what becomes of the part is wrong", () => {
    // Nothing else is asked, and what stays the same is planned and measured once.
    const options = {
      variants: [variant],
      proof: "none" as const,
      memory: new MotionMemory(),
      clearanceMemory: new ClearanceMemory(),
    };
    const wrong = of("told by check").flatMap((mutant) => {
      const argued = table[mutant.name]!;
      const outcome = checkCell(mutant.cell, options);
      const codes = outcome.ok ? outcome.report.findings.map(({ code }) => code) : ["does not load"];
      return argued.is !== "harmless" && argued.as.some((code) => codes.includes(code))
        ? []
        : [`${mutant.name}: ${[...new Set(codes)].join()}`];
    });
    expect(wrong).toEqual([]);
  }, 300_000);
});
