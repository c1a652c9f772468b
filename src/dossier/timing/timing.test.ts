/** The timing diagram of a counterexample, and its sheet. */
import { describe, expect, it } from "vitest";
import type { RunReport } from "../../check/index.ts";
import { timingDiagram } from "./diagram.ts";
import { renderTimingSvg } from "./timing-svg.ts";

const span = (from_s: number, to_s: number, text: string) => ({ from_s, to_s, text });

/** Twenty steps of 1 s, a long machining between, and a door that begins to move in the last instant. */
function run(): RunReport {
  const steps = Array.from({ length: 20 }, (_, i) => span(i, i + 1, `load[${i}]`));
  return {
    duration_s: 180,
    from_s: 0,
    lanes: [
      {
        kind: "arm",
        name: "arm",
        spans: [...steps, span(20, 178, "machine[0]"), span(178, 180, "load[20]"), span(180, 180, "load[21]")],
      },
      { kind: "gripper", name: "gripper", spans: [span(0, 180, "raw")] },
      { kind: "holder", name: "raw-tray", spans: [span(0, 180, "raw")] },
      { kind: "device", name: "lathe.door", spans: [span(0, 180, "closed"), span(180, 180, "moving")] },
      { kind: "device", name: "lathe.chuck", spans: [span(0, 180, "closed")] },
      { kind: "output", name: "door-open", spans: [span(0, 179.5, "off"), span(179.5, 180, "on")] },
      { kind: "output", name: "lamp", spans: [span(0, 180, "off")] },
      { kind: "zone", name: "doorway", spans: [span(0, 180, "clear")] },
    ],
    events: [
      { at_s: 3, text: "the fault happens" },
      { at_s: 179.5, text: "door-open goes on" },
    ],
  };
}

describe("timing diagram", () => {
  it("shows the last steps, what changes in them, what is held, and what the sentence speaks of", () => {
    const diagram = timingDiagram(run(), ["doorway", null]);
    expect(diagram.steps.at(-1)).toEqual({ id: "load[21]", at: 180 });
    expect(diagram.steps).toHaveLength(9);
    expect(diagram.from).toBe(14);
    const names = diagram.groups.flatMap(({ lanes }) => lanes.map(({ name }) => name));
    expect(names).toEqual(["arm", "part in gripper", "lathe.door", "zone doorway", "door-open"]);
  });

  it("draws the last state on, so that what has just changed is seen", () => {
    const diagram = timingDiagram(run());
    const door = diagram.groups.flatMap(({ lanes }) => lanes).find(({ name }) => name === "lathe.door")!;
    expect(door.spans.map(({ text, to }) => [text, to])).toEqual([
      ["closed", 180],
      ["moving", diagram.end],
    ]);
    expect(diagram.end).toBeGreaterThan(diagram.to);
  });

  it("breaks the axis where a machining lasts long", () => {
    expect(timingDiagram(run()).scale.breaks).toEqual([{ from: 20, to: 178 }]);
  });

  it("tells of a fault before the window too", () => {
    expect(timingDiagram(run()).marks).toEqual([{ at: 3, text: "the fault happens" }]);
  });
});

describe("sheet", () => {
  const sheet = (colors: "both" | "day", sentence = "lathe.door moves through doorway while the arm is in it.") =>
    renderTimingSvg(run(), { title: "Cell <1>", sentence, about: ["doorway"], colors });

  it("marks the moment and says what goes wrong; the same text for the same run", () => {
    const text = sheet("both");
    expect(text).toContain("goes wrong at 180.000 s");
    expect(text).toContain("lathe.door moves through doorway while the arm is in it.");
    expect(text).toContain("prefers-color-scheme:dark");
    expect(text).toContain("≈ 158.0 s");
    expect(text).toContain("Cell &lt;1&gt;");
    expect(sheet("both")).toBe(text);
  });

  it("by day needs no custom properties", () => expect(sheet("day")).not.toContain("var(--"));

  it("breaks a long sentence into lines, and escapes it", () => {
    const text = sheet("both", `${"a long way round ".repeat(20)}<script>`);
    expect(text.match(/class="t-wrong"/g)!.length).toBeGreaterThan(2);
    expect(text).not.toContain("<script>");
  });
});
