/** `size` from the outside: output, exit status, and the same figures as in the check. */
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import type { CheckReport, SizeReport } from "../../src/check/index.ts";
import { type Ended, root, run } from "./program.ts";

const CELL = join(root, "test", "cells", "small-lathe.yaml");
const HANDLING = `
handling:
  insertions: 50000
  deviations: { frame: { within: 1.5 mm, tilt: 0.2 deg, distribution: normal } }
  fits: { lathe.chuck: { bore: 32 mm, depth: 12 mm, friction: 0.15 } }
`;

let folder: string;
let stated: string;
let forPeople: Ended;
let plain: Ended;
let asJson: Ended;
let report: SizeReport;
let checked: CheckReport;
let weak: Ended;
beforeAll(async () => {
  folder = mkdtempSync(join(tmpdir(), "millhand-size-"));
  const text = readFileSync(CELL, "utf8");
  stated = join(folder, "stated.yaml");
  writeFileSync(stated, text + HANDLING);
  const tooWeak = join(folder, "weak.yaml");
  writeFileSync(tooWeak, text.replace("force: 140 N", "force: 20 N"));
  [forPeople, asJson] = await Promise.all([run(["size", stated]), run(["size", stated, "--json"])]);
  [plain, weak] = await Promise.all([run(["size", stated, "--ascii"]), run(["size", tooWeak])]);
  checked = JSON.parse((await run(["check", stated, "--json"])).stdout) as CheckReport;
  report = JSON.parse(asJson.stdout) as SizeReport;
}, 120_000);
afterAll(() => rmSync(folder, { recursive: true, force: true }));

describe("size", () => {
  it("tells people the forces, the worst moment, what decides, the seat and the odds", () => {
    expect({ stderr: forPeople.stderr, status: forPeople.status }).toEqual({ stderr: "", status: 0 });
    const { stdout } = forPeople;
    const [grip] = report.grip;
    expect(stdout).toContain(`Grip: gripper on short (end)`);
    expect(stdout).toContain(`needed ${Math.max(grip!.needed_N!, grip!.sizing.stop!.needed_N!).toFixed(0)} N per jaw`);
    expect(stdout).toContain(grip!.sizing.formula!);
    expect(stdout).toContain(`raw in ${grip!.sizing.motion.step} at ${grip!.sizing.motion.time_s.toFixed(2)} s`);
    expect(stdout).toContain("Joint torques at their worst");
    expect(stdout).toContain("Seat: short in lathe.chuck");
    expect(stdout).toMatch(/% of 50,000 trial insertions \(seed 1/);
    expect(stdout).toContain("no deviation is stated for tray, jaws, tcp");
    expect(stdout).toContain("safety factor 2 taken");
    for (const line of stdout.split("\n")) expect([...line].length).toBeLessThanOrEqual(120);
  });

  it("uses plain characters when asked to", () => {
    expect([...plain.stdout].every((c) => c === "\n" || (c >= " " && c <= "~"))).toBe(true);
    expect(plain.stdout).toContain("sqrt(fy^2 + fz^2)");
  });

  it("gives one JSON document with the figures of the check", () => {
    expect({ stderr: asJson.stderr, status: asJson.status }).toEqual({ stderr: "", status: 0 });
    expect(report.schemaVersion).toBe(1);
    expect(report.grip).toEqual(checked.grip);
    expect(report.loads).toEqual(checked.payload!.loads);
    expect(report.seating).toEqual(checked.seating);
    const codes = new Set(checked.findings.map((f) => f.code));
    for (const finding of report.findings) expect(codes).toContain(finding.code);
    expect(report.findings.map((f) => f.code)).toContain("part-may-miss");
  });

  it("ends with 1 where a gripper is too weak, and says so", () => {
    expect({ stderr: weak.stderr, status: weak.status }).toEqual({ stderr: "", status: 1 });
    expect(weak.stdout).toMatch(/grip-too-weak .*weak\.yaml:\d+:\d+/);
  });

  it("ends with 2 for a part that is not there, a file that is not there, and an impossible friction", async () => {
    const wrong = join(folder, "wrong.yaml");
    writeFileSync(wrong, readFileSync(CELL, "utf8").replace("friction: 0.15", "friction: -0.15"));
    const [part, file, friction] = await Promise.all([
      run(["size", CELL, "--variant", "hexagon"]),
      run(["size", join(folder, "none.yaml")]),
      run(["size", wrong]),
    ]);
    expect([part.status, file.status, friction.status]).toEqual([2, 2, 2]);
    expect(part.stderr).toContain("found hexagon; expected one of short, long");
    expect(file.stderr).toContain("none.yaml");
    expect(friction.stderr).toMatch(/friction: found -0\.15/);
    expect(part.stdout + file.stdout + friction.stdout).toBe("");
  });

  it("sizes only the part that is asked for", async () => {
    const { stdout, status } = await run(["size", CELL, "--variant", "long", "--json"]);
    expect(status).toBe(0);
    const { grip } = JSON.parse(stdout) as SizeReport;
    expect(grip.map(({ part }) => part)).toEqual(["long"]);
  });
});
