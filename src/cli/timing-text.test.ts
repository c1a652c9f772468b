/** The timing diagram in the terminal. */
import { describe, expect, it } from "vitest";
import type { RunReport } from "../check/index.ts";
import { timingDiagram } from "../dossier/index.ts";
import { drawTiming } from "./timing-text.ts";

const run: RunReport = {
  duration_s: 4,
  from_s: 0,
  lanes: [
    {
      kind: "arm",
      name: "arm",
      spans: [
        { from_s: 0, to_s: 1, text: "load[0]" },
        { from_s: 1, to_s: 4, text: "load[1]" },
      ],
    },
    {
      kind: "device",
      name: "lathe.door",
      spans: [
        { from_s: 0, to_s: 1, text: "closed" },
        { from_s: 1, to_s: 3, text: "moving" },
        { from_s: 3, to_s: 4, text: "open" },
      ],
    },
    {
      kind: "output",
      name: "door-open",
      spans: [
        { from_s: 0, to_s: 1, text: "off" },
        { from_s: 1, to_s: 4, text: "on" },
      ],
    },
  ],
  events: [{ at_s: 2, text: "the fault happens" }],
};

const draw = (width: number, ascii = true) =>
  drawTiming(timingDiagram(run), { width, color: false, ascii }, 4).filter((line) => line !== "");

describe("timing diagram as text", () => {
  it.each([60, 80, 120, 200])("fits %i columns", (width) => {
    for (const ascii of [true, false])
      for (const line of draw(width, ascii)) expect([...line].length).toBeLessThanOrEqual(width);
  });

  it("puts steps, states, levels, the fault and the moment at their times", () => {
    expect(draw(70)).toMatchInlineSnapshot(`
      [
        "                0 s                       2 s                      4 s",
        "                +-------------------------+------------------------+--",
        "    arm         |1-----------|2---------------------------------------",
        "    lathe.door  |closed      |moving///////////////////|open          ",
        "    door-open   _____________#########################################",
        "                                          !  goes wrong at 4.000 s X",
        "    1 load[0] at 0.00 s             2 load[1] at 1.00 s",
        "    ! the fault happens at 2.00 s",
      ]
    `);
  });

  it("uses plain characters only when asked", () => {
    expect(draw(80, true).join("\n")).toMatch(/^[\x20-\x7e\n]*$/);
    expect(draw(80, false).join("\n")).toContain("▒");
  });
});
