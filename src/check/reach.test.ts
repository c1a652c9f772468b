import { readFileSync } from "node:fs";
import { describe, expect, it } from "vitest";
import { loadCell } from "../cell/index.ts";
import { checkCell } from "./check-cell.ts";

const text = readFileSync(new URL("../../test/cells/small-lathe.yaml", import.meta.url), "utf8");

function check(changed: string) {
  const loaded = loadCell("small-lathe.yaml", { read: () => ({ text: changed }) });
  if (!loaded.ok) throw new Error(JSON.stringify(loaded.issues));
  const outcome = checkCell(loaded.value);
  if (!outcome.ok) throw new Error(outcome.reason);
  return outcome.report;
}

describe("reach", () => {
  it("is looked at with the grip by which the routine goes to a place, not with another of the part", () => {
    // A first grip 3 m along the part, which nothing asks for.
    const withFarGrip = text
      .replaceAll(
        "    grips:\n",
        "    grips:\n      far: { at: [0, 0, 3000 mm], abc: [180, 0, 0 deg], width: 30 mm }\n",
      )
      .replaceAll(/go: \{ to: (raw-tray|finished-tray|lathe\.chuck),/g, "go: { to: $1, grip: end,")
      .replaceAll(/hold: \{ gripper: gripper, from: ([\w.-]+) \}/g, "hold: { gripper: gripper, from: $1, grip: end }");
    const plain = check(text);
    const far = check(withFarGrip);
    expect(far.reach).toEqual(plain.reach);
    expect(far.verdict).toBe("feasible");
  });

  it("is an error for a place that no routine goes to, with the distance by which it is missed", () => {
    // Straight up from the base: flange height at most 400 + 450 + hypot(35, 420) + 80 mm; the tool adds 150 mm.
    const unused = text.replace("poses:\n", "poses:\n  unused: { at: [0, 0, 3000 mm] }\n");
    const { findings, reach } = check(unused);
    expect(findings.filter((f) => f.severity === "error").map((f) => f.code)).toEqual(["unreachable"]);
    const { reachable, miss_m } = reach.find((r) => r.target === "unused")!;
    expect(reachable).toBe(false);
    expect(miss_m).toBeCloseTo(3 - (0.4 + 0.45 + Math.hypot(0.035, 0.42) + 0.08 + 0.15), 6);
  });

  it("is looked at turned as the routine turns the part there", () => {
    // A part hangs in the hook by its other end: 600 mm above the place, or below it when it is turned over.
    const hook = (offset: string) =>
      check(
        text
          .replace("    grips:\n", "    grips:\n      hook: { at: [0, 0, 600 mm] }\n")
          .replaceAll(/go: \{ to: (raw-tray|finished-tray|lathe\.chuck),/g, "go: { to: $1, grip: end,")
          .replace("from: lathe.chuck }", "from: lathe.chuck, grip: end }")
          .replace(
            "  shapes:\n    table-top",
            "  nests: { hook: { at: [350, -450, 1300 mm] } }\n  shapes:\n    table-top",
          )
          .replace("  pick:\n", `  pick:\n    - go: { to: hook, grip: hook${offset} }\n`),
      ).reach.find((r) => r.target === "hook")!;
    expect(hook("").reachable).toBe(false);
    expect(hook(", offset: { abc: [180, 0, 0 deg] }").reachable).toBe(true);
    expect(hook(", offset: { at: [0, 0, 20 mm] }").reachable).toBe(false);
  });
});
