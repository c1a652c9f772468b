import { describe, expect, it } from "vitest";
import { SAMPLE_CHART, SAMPLE_REPORT } from "../dossier/sample-data.ts";
import { checkText } from "./check-text.ts";
import { layoutFor } from "./terminal.ts";
import { cut, table, wrap } from "./text.ts";

const plain = { width: 100, color: false, ascii: false };

describe("check as text", () => {
  const text = checkText(SAMPLE_REPORT, SAMPLE_CHART, plain);

  it("begins with the verdict and what it rests on", () => {
    expect(text.split("\n").slice(0, 2)).toEqual([
      "NOT FEASIBLE  Lathe cell with raw tray",
      "One part every 20.00 s, 180.0 parts per hour. 1 error, 1 warning and 1 caution.",
    ]);
  });

  it("gives every finding with place and mend, errors first and cautions always", () => {
    const at = SAMPLE_REPORT.findings.map((f) =>
      text.indexOf(`${f.code}  ${f.file}:${f.line}:${f.column}  ${f.where}`),
    );
    expect(Math.min(...at)).toBeGreaterThan(0);
    expect([...at].sort((a, b) => a - b)).toEqual(at);
    expect(text.match(/ {4}Mend: /g)).toHaveLength(3);
  });

  it("lists steps with their times and limits", () => {
    expect(checkText(SAMPLE_REPORT, SAMPLE_CHART, { ...plain, width: 130 })).toMatch(
      /main\[0\]\.do\[4\] {2}go +to finished-tray by joint motion +24 +2\.50 +2\.45 +2\.58 +6\.50 +J4 velocity 38 %/,
    );
    expect(text).toMatch(/missed: raw-tray,\s+place 24 by 38\.2 mm/);
  });

  it("lists the steps that come nearest to something, and what was left out", () => {
    const wide = checkText(SAMPLE_REPORT, SAMPLE_CHART, { ...plain, width: 140 });
    expect(wide).toMatch(
      /main\[0\]\.do\[2\] +6\.0 +6\.0 +10\.0 +1\.24 {2}gripper\.jaws, lathe\.door\.panel \(lathe\.door 0\.40 from open to closed\) +raw-tray, place 7/,
    );
    expect(wide).toMatch(/main\[0\]\.do\[4\] +250\.0 +249\.9 +300\.0 +\S+ {2}gripper\.jaws, table/);
    expect(wide).toContain("1 other step with 100.0 mm or more");
    expect(wide).toContain("not considered: coolant-hose: its mesh file is not read");
    expect(text).toMatch(/Clearance +6\.0 mm between gripper\.jaws and lathe\.door\.panel in main\[0\]\.do\[2\]/);
  });

  it("keeps to the width of the terminal", () => {
    for (const width of [60, 80, 120])
      for (const line of checkText(SAMPLE_REPORT, SAMPLE_CHART, { ...plain, width }).split("\n"))
        expect([...line].length).toBeLessThanOrEqual(width);
  });

  it("lets no name of the cell steer the terminal", () => {
    const evil = "\u001b[2J\u0007\u202e";
    const report = {
      ...SAMPLE_REPORT,
      cell: evil,
      findings: SAMPLE_REPORT.findings.map((f) => ({ ...f, where: evil, message: evil, mend: evil, file: evil })),
      clearance: {
        ...SAMPLE_REPORT.clearance!,
        pair: [evil, evil] as const,
        step: evil,
        notConsidered: [evil],
        steps: SAMPLE_REPORT.clearance!.steps.map((s) => ({
          ...s,
          step: evil,
          nearest: s.nearest && { ...s.nearest, pair: [evil, evil] as const, target: evil },
        })),
      },
      reach: SAMPLE_REPORT.reach.map((r) => ({ ...r, target: evil })),
      grip: SAMPLE_REPORT.grip.map((g) => ({ ...g, gripper: evil, part: evil, grip: evil })),
      cycle: {
        ...SAMPLE_REPORT.cycle!,
        variant: evil,
        steps: SAMPLE_REPORT.cycle!.steps.map((s) => ({ ...s, id: evil, what: evil, limitedBy: evil })),
      },
    };
    // biome-ignore lint/suspicious/noControlCharactersInRegex: what must not be there
    expect(checkText(report, SAMPLE_CHART, plain)).not.toMatch(/[\u0000-\u0009\u000b-\u001f\u007f\u202e]/);
  });

  it("does not call any cell safe", () => {
    expect(text).not.toMatch(/\bsafe\b/i);
    expect(checkText({ ...SAMPLE_REPORT, verdict: "feasible", findings: [] }, SAMPLE_CHART, plain)).not.toMatch(
      /\bsafe\b/i,
    );
  });
});

describe("layout of the terminal", () => {
  const facts = { isTerminal: true, columns: 90, env: {}, ascii: false };
  it("colours on a terminal only, and not against NO_COLOR or on a dumb one", () => {
    expect(layoutFor(facts)).toEqual({ width: 90, color: true, ascii: false });
    expect(layoutFor({ ...facts, isTerminal: false }).color).toBe(false);
    expect(layoutFor({ ...facts, env: { NO_COLOR: "1" } }).color).toBe(false);
    expect(layoutFor({ ...facts, env: { NO_COLOR: "" } }).color).toBe(true);
    expect(layoutFor({ ...facts, env: { TERM: "dumb" } })).toEqual({ width: 90, color: false, ascii: true });
  });
  it("draws plain characters when asked or when the locale is not UTF-8", () => {
    expect(layoutFor({ ...facts, ascii: true }).ascii).toBe(true);
    expect(layoutFor({ ...facts, env: { LANG: "de_DE.ISO-8859-1" } }).ascii).toBe(true);
    expect(layoutFor({ ...facts, env: { LANG: "C", LC_ALL: "C.UTF-8" } }).ascii).toBe(false);
  });
  it("takes the width from the terminal, else from COLUMNS", () => {
    expect(layoutFor({ ...facts, columns: undefined, env: { COLUMNS: "72" } }).width).toBe(72);
    expect(layoutFor({ ...facts, columns: 12 }).width).toBe(40);
    expect(layoutFor({ ...facts, columns: undefined, env: { COLUMNS: "x" } }).width).toBe(120);
  });
});

describe("text in columns", () => {
  it("wraps at spaces and breaks words that are too long", () => {
    expect(wrap("one two three", 7)).toEqual(["one two", "three"]);
    expect(wrap("abcdefghij kl", 4)).toEqual(["abcd", "efgh", "ij", "kl"]);
    expect(wrap("", 4)).toEqual([]);
  });
  it("cuts by characters, not by code units", () => {
    expect(cut("😀😀😀😀", 3, false)).toBe("😀😀…");
    expect(cut("abcd", 3, true)).toBe("ab~");
    expect(cut("abc", 3, false)).toBe("abc");
  });
  it("cuts only the columns that may be cut", () => {
    const columns = [
      { title: "name", align: "left", atLeast: 8 },
      { title: "n", align: "right" },
    ] as const;
    expect(table(columns, [["a".repeat(20), "12345"]], 20, false)).toEqual([
      `name${" ".repeat(9)}      n`,
      `${"a".repeat(12)}…  12345`,
    ]);
  });
  it("leaves out what it may where cutting is not enough", () => {
    const columns = [
      { title: "name", align: "left", atLeast: 8 },
      { title: "first", align: "right", dropped: 1 },
      { title: "n", align: "right" },
      { title: "last", align: "right", dropped: 2 },
    ] as const;
    const row = ["abcdefghijkl", "11111", "22", "3333"];
    expect(table(columns, [row], 40, true)[1]).toBe("abcdefghijkl  11111  22  3333");
    expect(table(columns, [row], 20, true)[1]).toBe("abcdefgh~  11111  22");
    expect(table(columns, [row], 13, true)[1]).toBe("abcdefgh~  22");
  });
});
