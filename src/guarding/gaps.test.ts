import { expect, it } from "vitest";
import { crushedIn } from "./gaps.ts";

// ISO 13854: body 500, head 300, leg 180, foot 120, toes 50, arm 120, hand 100, finger 25 mm (read in a public summary).
it("tells the parts of the body for which a gap is too narrow", () => {
  expect(crushedIn(0.5)).toEqual([]);
  expect(crushedIn(0.499)).toEqual(["body"]);
  expect(crushedIn(0.12)).toEqual(["body", "head", "leg"]);
  expect(crushedIn(0.119)).toContain("arm");
  expect(crushedIn(0.03)).not.toContain("finger");
  expect(crushedIn(-0.001)).toHaveLength(8);
});
