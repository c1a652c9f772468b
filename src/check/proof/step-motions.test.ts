/** Times and zones of steps from the runs of a check. */
import { readFileSync } from "node:fs";
import { join } from "node:path";
import { beforeAll, describe, expect, it } from "vitest";
import { loadCell } from "../../cell/index.ts";
import { type CheckResult, checkCell } from "../check-cell.ts";
import { type StepMotions, stepMotions } from "./step-motions.ts";

const CELL = readFileSync(join(import.meta.dirname, "../../../test/cells/small-lathe.yaml"), "utf8");
/** With a doorway so deep that the arm stands in it in front of the chuck. */
const TEXT = CELL.replace("box: [600, 40, 500 mm]", "box: [600, 200, 500 mm]");

let result: CheckResult;
let motions: StepMotions;

function checked(text: string) {
  const loaded = loadCell("cell.yaml", { read: () => ({ text }) });
  if (!loaded.ok) throw new Error(JSON.stringify(loaded.issues));
  const outcome = checkCell(loaded.value, { proof: "none" });
  if (!outcome.ok) throw new Error(outcome.reason);
  return { outcome, motions: stepMotions(loaded.value, outcome.arm, outcome.runs) };
}

beforeAll(() => {
  const all = checked(TEXT);
  result = all.outcome;
  motions = all.motions;
});

describe("step motions", () => {
  it("have the shortest and longest time over all passes, places and paces", () => {
    const short = motions.get("short")!;
    const times = [...Object.values(result.runs.get("short")!)].flatMap(({ activities }) =>
      activities
        .filter(({ stepId, kind }) => stepId === "pick[1]" && kind === "motion")
        .map(({ start, end }) => end - start),
    );
    expect(times.length).toBeGreaterThan(6);
    expect(short.get("pick[1]")!.shortest).toBe(Math.min(...times));
    expect(short.get("pick[1]")!.longest).toBe(Math.max(...times));
    expect(short.get("pick[1]")!.longest).toBeGreaterThan(short.get("pick[1]")!.shortest);
  });

  it("are in the zone while they pass it, and at their end where the arm stands in it", () => {
    const short = motions.get("short")!;
    // To the chuck through the doorway, seating there, and out again.
    expect(short.get("load[4]")).toMatchObject({ zones: ["doorway"], endZones: ["doorway"] });
    expect(short.get("load[6]")).toMatchObject({ zones: ["doorway"], endZones: ["doorway"] });
    expect(short.get("unload[11]")).toMatchObject({ zones: ["doorway"], endZones: [] });
    for (const id of ["pick[1]", "pick[2]", "unload[12]"]) expect(short.get(id), id).toMatchObject({ zones: [] });
  });

  it("of every step with a motion, press included, and of no other", () => {
    expect([...motions.get("short")!.keys()].filter((id) => id.startsWith("load")).sort()).toEqual(
      ["load[2]", "load[4]", "load[5]", "load[6]", "load[11]", "load[12]"].sort(),
    );
  });

  it("leave out a step whose motion cannot be made", () => {
    const far = TEXT.replace(/(raw-tray:\s*\{ in: table, at: \[)[^\]]*\]/, "$13000, 0, 0 mm]");
    expect(far).not.toBe(TEXT);
    expect(checked(far).motions.get("short")!.has("pick[1]")).toBe(false);
  });
});
