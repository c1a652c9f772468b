import { describe, expect, it } from "vitest";
import type { PageActivity } from "../dossier/index.ts";
import { drawCycleChart } from "./cycle-chart.ts";
import type { Layout } from "./terminal.ts";

const bar = (lane: string, kind: PageActivity["kind"], start: number, end: number, slack = 1): PageActivity => ({
  lane,
  kind,
  label: "",
  start,
  end,
  slack,
  critical: slack === 0,
});

/** A chart of 10 s on 50 columns beside a name of 4: 0.2 s a column. */
const CHART = [
  bar("door", "device", 4, 6),
  bar("arm", "motion", 0, 2, 0),
  bar("arm", "motion", 2, 4, 0),
  bar("arm", "wait", 4, 8),
  bar("arm", "free", 8, 8.4),
  bar("arm", "motion", 8.4, 10),
];
const plain: Layout = { width: 56, color: false, ascii: true };

describe("cycle chart in the terminal", () => {
  it("draws the arm first, each bar to scale, heavy where critical", () => {
    const lines = drawCycleChart(CHART, { from: 0, to: 10 }, plain);
    const row = (name: string) => lines.find((line) => line.startsWith(name))?.slice(6);
    expect(row("arm")).toBe(`|=========|=========${".".repeat(20)}oo|${"-".repeat(7)}`);
    expect(row("door")).toBe(`${" ".repeat(20)}|${"-".repeat(9)}`);
    expect(lines.findIndex((l) => l.startsWith("arm"))).toBeLessThan(lines.findIndex((l) => l.startsWith("door")));
    expect(lines[0]).toBe(
      "      0 s       2         4         6         8         10".replace("         10", "       10"),
    );
  });

  it("keeps to the width and to plain characters", () => {
    for (const width of [40, 61, 80, 200]) {
      for (const ascii of [true, false]) {
        for (const line of drawCycleChart(CHART, { from: 0, to: 10 }, { width, color: false, ascii }).slice(0, -1)) {
          expect([...line].length).toBeLessThanOrEqual(width);
          if (ascii) expect(line).toMatch(/^[\x20-\x7e]*$/);
        }
      }
    }
  });

  it("shows a short activity where nothing longer is, and leaves out what ends where the chart begins", () => {
    const chart = [bar("arm", "motion", 0, 10), bar("door", "device", 5, 5.01), bar("chuck", "device", 1, 2)];
    const lines = drawCycleChart(chart, { from: 2, to: 10 }, plain);
    expect(lines.find((l) => l.startsWith("door"))).toMatch(/^door +\|$/);
    expect(lines.some((l) => l.startsWith("chuck"))).toBe(false);
  });

  it("draws a long wait short and says so", () => {
    const chart = [bar("arm", "motion", 0, 5, 0), bar("arm", "wait", 5, 95), bar("arm", "motion", 95, 100, 0)];
    const lines = drawCycleChart(chart, { from: 0, to: 100 }, { ...plain, width: 105 });
    // 92 of 100 columns for 10 s of motion, 8 for 90 s of waiting.
    expect(lines.find((l) => l.startsWith("arm"))).toBe(`arm  |${"=".repeat(45)}${".".repeat(8)}|${"=".repeat(45)}`);
    expect(lines[1]!.slice(5 + 46, 5 + 54)).toMatch(/^.~{6,8}/);
    expect(lines.at(-1)).toContain("~~~ 90.00 s drawn short");
  });

  it("cuts a long name and cleans it of control characters", () => {
    const lines = drawCycleChart([bar(`\u001b[31m${"n".repeat(60)}`, "device", 0, 1)], { from: 0, to: 1 }, plain);
    expect(lines.join("")).not.toContain("\u001b");
    expect(lines[2]!.length).toBeLessThanOrEqual(56);
  });

  it("colours only on request, with the same characters", () => {
    const coloured = drawCycleChart(CHART, { from: 0, to: 10 }, { ...plain, color: true });
    // biome-ignore lint/suspicious/noControlCharactersInRegex: colour sequences
    const stripped = coloured.map((line) => line.replaceAll(/\u001b\[\d+m/g, "").trimEnd());
    expect(coloured.join("")).toContain("\u001b[");
    expect(stripped).toEqual(drawCycleChart(CHART, { from: 0, to: 10 }, plain));
  });

  it("says so when there is nothing", () => {
    expect(drawCycleChart([], { from: 0, to: 10 }, plain)).toEqual(["(nothing to draw)"]);
    expect(drawCycleChart(CHART, { from: 3, to: 3 }, plain)).toEqual(["(nothing to draw)"]);
  });
});
