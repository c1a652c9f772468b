/** What the interlock proof adds to a check: findings at the step, told once, with a mend that was tried. */
import { readFileSync } from "node:fs";
import { join } from "node:path";
import { describe, expect, it } from "vitest";
import { loadCell } from "../../cell/index.ts";
import { type CheckOptions, checkCell } from "../check-cell.ts";

const TEXT = readFileSync(join(import.meta.dirname, "../../../test/cells/small-lathe.yaml"), "utf8");

function check(change: (text: string) => string, options: CheckOptions = {}) {
  const text = change(TEXT);
  const loaded = loadCell("cell.yaml", { read: () => ({ text }) });
  if (!loaded.ok) throw new Error(JSON.stringify(loaded.issues));
  const outcome = checkCell(loaded.value, options);
  if (!outcome.ok) throw new Error(outcome.reason);
  return outcome.report;
}

const replaced = (from: string, to: string) => (text: string) => {
  expect(text).toContain(from);
  return text.replace(from, to);
};

describe("interlocks in a check", () => {
  it("hold as the cell stands, and what was not explored is said", () => {
    const { proof, findings, verdict } = check((text) => text);
    expect(verdict).toBe("feasible");
    expect(proof).toMatchObject({ verdict: "holds", violations: [], faults: null });
    expect(proof!.states).toBeGreaterThan(1000);
    expect(proof!.variants.map(({ variant }) => variant)).toEqual(["short"]);
    expect(findings.find(({ code }) => code === "not-computed")!.message).toContain("not under faults");
    expect(findings.filter(({ code }) => code.startsWith("interlock"))).toEqual([]);
  });

  it("an await that is left out becomes an error at the step, with the await as its mend", () => {
    // The door needs up to 2.2 s; the arm stands at the door after about 0.6 s.
    const report = check(
      replaced("    - await: { signal: door-is-open, limit: 5 s, otherwise: { stop: the door did not open } }\n", ""),
    );
    const found = report.findings.filter(({ code }) => code === "interlock-zone-shared");
    expect(found).toHaveLength(1);
    expect(found[0]).toMatchObject({ severity: "error", where: "routines.load[3]" });
    expect(found[0]!.message).toMatch(/lathe\.door moves through doorway during load\[3\].*s after power-up/);
    expect(found[0]!.mend).toMatch(/await: \{ signal: door-is-open.*before load\[3\]: proved/);
    expect(report.proof!.verdict).toBe("violated");
    const [violation] = report.proof!.violations;
    expect(violation).toMatchObject({ kind: "zone-shared", harmful: true, step: "load[3]", subject: "doorway" });
    expect(violation!.run.lanes.find(({ name }) => name === "lathe.door")!.spans.at(-1)!.text).toBe("moving");
  });

  it("what the simulated runs show already is not told again", () => {
    const { findings, proof } = check(replaced("    - dwell: 0.8 s\n    - free", "    - dwell: 0.3 s\n    - free"));
    expect(findings.map(({ code }) => code)).toContain("dwell-too-short");
    expect(proof!.violations.map(({ kind }) => kind)).toContain("freed-before-clamped");
    expect(findings.filter(({ code }) => code.startsWith("interlock-freed"))).toEqual([]);
  });

  it("a rule that is broken is an error", () => {
    const { findings, proof } = check(
      (text) =>
        `${text}\nrules:\n  door-shut-when-turning: { never: { all: [{ process: lathe.turning, is: running }, { device: lathe.door, is: open }] } }\n  never-open: { never: { device: lathe.door, is: open } }\n`,
    );
    const rules = proof!.variants[0]!.rules;
    expect(rules.map(({ name, verdict }) => [name, verdict])).toEqual([
      ["door-shut-when-turning", "holds"],
      ["never-open", "violated"],
    ]);
    expect(proof!.verdict).toBe("violated");
    expect(findings.filter(({ code }) => code === "rule-broken").map(({ severity }) => severity)).toEqual(["error"]);
  });

  it("a wait without a limit for a machine gets a caution, one for a person none", () => {
    const { findings } = check(
      replaced("{ signal: cycle-complete, limit: 90 s }", "{ signal: cycle-complete, limit: none }"),
    );
    expect(findings.filter(({ code }) => code === "await-without-limit").map(({ where }) => where)).toEqual([
      "routines.machine[4]",
    ]);
  });

  it("too little memory leaves it undecided, with a finding, and never feasible by default of proof", () => {
    const { findings, proof } = check((text) => text, { proofMemory: 50_000 });
    expect(proof!.verdict).toBe("undecided");
    expect(proof!.variants[0]!.reason).toContain("memory");
    expect(findings.map(({ code }) => code)).toContain("interlocks-undecided");
  });

  it("can be left out, and then says so", () => {
    const { findings, proof } = check((text) => text, { proof: "none" });
    expect(proof).toBeNull();
    expect(findings.find(({ code }) => code === "not-computed")!.message).toContain("not explored");
  });
});
