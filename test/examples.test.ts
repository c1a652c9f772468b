/** The demo cells: their verdicts, and every motion of one pass audited at 1 kHz against the limits that the files state. */
import { readFileSync } from "node:fs";
import { describe, expect, it } from "vitest";
import { biasAcceleration, createDynamics, geometricJacobian } from "../src/arm/index.ts";
import { type Cell, loadCell } from "../src/cell/index.ts";
import { type CheckResult, checkCell, isPlanned } from "../src/check/index.ts";
import { carriedLoad } from "../src/check/load.ts";
import { gravityInBase } from "../src/check/mover.ts";

function load(name: string): Cell {
  const folder = new URL(`../examples/${name}/`, import.meta.url);
  const loaded = loadCell("cell.yaml", { read: (path) => ({ text: readFileSync(new URL(path, folder), "utf8") }) }, {});
  if (!loaded.ok) throw new Error(`${name} does not load: ${JSON.stringify(loaded.issues[0])}`);
  return loaded.value;
}

function check(cell: Cell): CheckResult {
  const outcome = checkCell(cell);
  if (!outcome.ok) throw new Error("cancelled");
  return outcome;
}

const feasible = ["lathe", "mill", "two-lathes"].map((name) => {
  const cell = load(name);
  return { name, cell, result: check(cell) };
});

describe.each(feasible)("the demo cell $name", ({ cell, result }) => {
  const { report, runs, arm } = result;

  it("is feasible, and still carries its cautions", () => {
    expect(report.findings.filter((f) => f.severity !== "caution")).toEqual([]);
    expect(report.verdict).toBe("feasible");
    expect(report.findings.map((f) => f.code)).toEqual(expect.arrayContaining(["no-risk-assessment", "not-computed"]));
  });

  it("finishes every part of every tray, with the period between what arm and machine need and their sum", () => {
    for (const variant of report.cycle!.variants) {
      const { nominal } = runs.get(variant.variant)!;
      expect(nominal.outcome).toBe("complete");
      const trays = [...cell.holders.values()].filter((h) => h.start?.part === variant.variant);
      expect(nominal.partsFinished).toBe(trays[0]!.places.length);
      expect(variant.period_s).toBeGreaterThanOrEqual(Math.max(variant.robot_s, variant.machine_s) - 1e-9);
      expect(variant.period_s).toBeLessThanOrEqual(variant.robot_s + variant.machine_s + 10);
      expect(variant.fastest_s).toBeLessThanOrEqual(variant.period_s);
      expect(variant.slowest_s).toBeGreaterThanOrEqual(variant.period_s);
      expect(variant.partsPerHour).toBeCloseTo(3600 / variant.period_s, 9);
    }
  });

  it("exceeds no limit at 1 kHz in the first and the last two passes", () => {
    const { n } = arm;
    const dynamics = createDynamics(arm);
    const gravity = gravityInBase(cell);
    const state = { q: new Float64Array(n), qd: new Float64Array(n), qdd: new Float64Array(n) };
    const before = new Float64Array(n);
    const torque = new Float64Array(n);
    const jacobian = new Float64Array(6 * n);
    const bias = new Float64Array(6);
    const worst: Record<string, number> = {};
    let outside = Number.NEGATIVE_INFINITY;
    const see = (kind: string, share: number) => {
      worst[kind] = Math.max(worst[kind] ?? 0, share);
    };
    for (const { nominal } of runs.values()) {
      const last = nominal.passes.length - 1;
      for (const { outcome, context, pass } of nominal.moves) {
        if (pass > 0 && pass < last - 1) continue;
        if (!outcome.ok || !isPlanned(outcome.motion)) continue;
        const { motion, flangeFromTcp } = outcome.motion;
        const payload = carriedLoad(cell, context.held);
        const steps = Math.ceil(motion.duration * 1000);
        const dt = motion.duration / steps;
        for (let k = 0; k <= steps; k++) {
          motion.sample(k * dt, state);
          dynamics.torque(state.q, state.qd, state.qdd, gravity, payload, torque);
          for (let i = 0; i < n; i++) {
            outside = Math.max(outside, arm.min[i]! - state.q[i]!, state.q[i]! - arm.max[i]!);
            see("velocity", Math.abs(state.qd[i]!) / arm.velocity[i]!);
            see("acceleration", Math.abs(state.qdd[i]!) / arm.acceleration[i]!);
            see("torque", Math.abs(torque[i]!) / arm.torque[i]!);
            if (k > 0) see("jerk", Math.abs(state.qdd[i]! - before[i]!) / dt / arm.jerk[i]!);
          }
          before.set(state.qdd);
          geometricJacobian(arm, state.q, flangeFromTcp, jacobian);
          biasAcceleration(arm, state.q, state.qd, flangeFromTcp, bias);
          const rate = [0, 0, 0, 0, 0, 0];
          const change = Array.from(bias);
          for (let r = 0; r < 6; r++)
            for (let i = 0; i < n; i++) {
              rate[r]! += jacobian[r * n + i]! * state.qd[i]!;
              change[r]! += jacobian[r * n + i]! * state.qdd[i]!;
            }
          see("tool speed", Math.hypot(rate[0]!, rate[1]!, rate[2]!) / cell.arm.toolSpeed);
          see("tool acceleration", Math.hypot(change[0]!, change[1]!, change[2]!) / cell.arm.toolAcceleration);
          see("tool turn speed", Math.hypot(rate[3]!, rate[4]!, rate[5]!) / cell.arm.toolTurnSpeed);
          see("tool turn acceleration", Math.hypot(change[3]!, change[4]!, change[5]!) / cell.arm.toolTurnAcceleration);
        }
      }
    }
    expect(outside).toBeLessThanOrEqual(1e-9);
    for (const [kind, share] of Object.entries(worst)) expect(share, kind).toBeLessThanOrEqual(1 + 1e-5);
    // The motions are not just slow: something is always at its limit somewhere.
    expect(Math.max(...Object.values(worst))).toBeGreaterThan(0.999);
  });
});

describe("the demo cell not-feasible", () => {
  const { report } = check(load("not-feasible"));

  it("fails for its five reasons, each told with what would mend it", () => {
    expect(report.verdict).toBe("not feasible");
    const errors = report.findings.filter((f) => f.severity === "error");
    const codes = new Set(errors.map((f) => f.code));
    for (const code of ["too-few-points", "grip-too-weak", "rated-load-exceeded", "out-of-reach", "dwell-too-short"])
      expect(codes).toContain(code);
    for (const finding of errors) {
      expect(finding.mend.length).toBeGreaterThan(10);
      expect(finding.line).toBeGreaterThan(1);
    }
    expect(report.cycle).toBeNull();
  });
});
