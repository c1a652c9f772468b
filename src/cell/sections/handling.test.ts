/** What a cell file says about holding and seating, read as the reference page writes it. */
import { readFileSync } from "node:fs";
import { expect, it } from "vitest";
import { smallLathe, textSource } from "../../../test/cells/texts.ts";
import { formatIssue } from "../issue.ts";
import { loadCell } from "../load.ts";
import type { Cell } from "../model.ts";

function load(text: string): Cell {
  const loaded = loadCell("cell.yaml", textSource({ "cell.yaml": text }));
  if (!loaded.ok) throw new Error(loaded.issues.map(formatIssue).join("\n"));
  return loaded.value;
}

it("reads the example of the reference page", () => {
  const page = readFileSync(new URL("../../../docs/reference/cell-file.md", import.meta.url), "utf8");
  const example = /^```text\n(handling:\n[\s\S]*?)^```$/m.exec(page)![1]!;
  const { handling } = load(`${smallLathe}\n${example}`);
  expect(handling).toEqual({
    safetyFactor: 2,
    deviations: new Map([
      ["tray", { within: 0.0003, tilt: 0, distribution: "uniform", at: ["lathe.chuck"] }],
      ["frame", { within: 0.00025, tilt: expect.closeTo(Math.PI / 1800, 12), distribution: "normal", at: [] }],
    ]),
    fits: new Map([["lathe.chuck", { bore: 0.034, depth: 0.012, chamfer: 0.001, friction: 0.15, pushLimit: 400 }]]),
  });
});

it("reads everything about jaws and grips", () => {
  const cell = load(
    smallLathe
      .replace(
        "      stroke: 20 mm\n",
        "      stroke: 20 mm\n      opening: 2 in\n      jaw moment: 9 N m\n      finger length: 40 mm\n      v angle: 120 deg\n      oily friction: 0.08\n",
      )
      .replace("width: 30 mm, way: friction }", "width: 30 mm, way: form, side: inside, oily friction: 0.07 }"),
  );
  expect(cell.tool.grippers.get("gripper")).toMatchObject({
    stroke: 0.02,
    opening: expect.closeTo(0.0508, 12),
    jawMoment: 9,
    fingerLength: 0.04,
    vAngle: expect.closeTo((2 * Math.PI) / 3, 12),
    oilyFriction: 0.08,
  });
  expect(cell.parts.get("short")!.grips.get("end")).toMatchObject({ way: "form", side: "inside", oilyFriction: 0.07 });
});

it("says nothing where nothing is said", () => {
  const cell = load(smallLathe);
  expect(cell.handling).toBeUndefined();
  for (const key of ["opening", "jawMoment", "fingerLength", "vAngle", "oilyFriction"])
    expect(cell.tool.grippers.get("gripper")).not.toHaveProperty(key);
  expect(cell.parts.get("short")!.grips.get("end")).not.toHaveProperty("side");
});
