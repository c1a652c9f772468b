import { readFileSync } from "node:fs";
import { describe, expect, it } from "vitest";
import { loadCell } from "../cell/index.ts";
import { checkCell } from "./check-cell.ts";

const lathe = new URL("../../test/cells/small-lathe.yaml", import.meta.url);
const mill = new URL("../../examples/mill/cell.yaml", import.meta.url);

/** Findings about grippers away from their places in a cell changed by a replacement in one of its files. */
function away(file: URL, from: string, to: string): { code: string; message: string }[] {
  let changed = 0;
  const read = (name: string) => {
    const text = readFileSync(new URL(name.split("/").at(-1)!, file), "utf8");
    const now = text.replace(from, to);
    if (now !== text) changed++;
    return { text: now };
  };
  const loaded = loadCell(file.pathname.split("/").at(-1)!, { read });
  if (!loaded.ok) throw new Error(JSON.stringify(loaded.issues));
  expect(changed).toBe(from === to ? 0 : 1);
  const outcome = checkCell(loaded.value);
  if (!outcome.ok) throw new Error(outcome.reason);
  return outcome.report.findings.filter((f) => f.code.endsWith("-away-from-place"));
}

describe("a gripper that works away from its place", () => {
  it("is not reported where the motions bring it there", () => {
    expect(away(lathe, "", "")).toEqual([]);
  });

  it("is an error when the last approach is missing", () => {
    const found = away(lathe, "    - go: { to: raw-tray, by: line, speed: 150 mm/s }\n", "");
    expect(found).toMatchObject([{ code: "hold-away-from-place", message: expect.stringContaining(" 80.0 mm away ") }]);
  });

  it("is an error when the arm was brought to a pose that is not the place", () => {
    const found = away(
      lathe,
      "    - go: { to: raw-tray, offset: [0, 0, 80 mm] }\n    - go: { to: raw-tray, by: line, speed: 150 mm/s }\n",
      "    - go: above-table\n",
    );
    // The pose is 300 mm over the table's origin, the grip 48 mm over the first place, which is the origin too.
    expect(found).toMatchObject([
      { code: "hold-away-from-place", message: expect.stringContaining(" 252.0 mm away ") },
    ]);
  });

  it("is an error when a part is let go above its place", () => {
    const found = away(lathe, "offset: [0, 0, 2 mm] }\n    - press: {", "offset: [0, 0, 20 mm] }\n    - press: {");
    // The push ends at the contact expected 2 mm on.
    expect(found).toMatchObject([{ code: "free-away-from-place", message: expect.stringContaining(" 18.0 mm away ") }]);
  });

  it("is an error when another gripper was brought there", () => {
    const found = away(
      mill,
      "- go: { to: raw, by: line, speed: 200 mm/s, gripper: in }",
      "- go: { to: raw, by: line, speed: 200 mm/s, gripper: out }",
    );
    expect(found.map((f) => f.code)).toContain("hold-away-from-place");
  });
});
