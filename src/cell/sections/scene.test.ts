import { expect, it } from "vitest";
import { servingOrder } from "./scene.ts";

// Rows are counted along y, columns along x; each place as row and column, by hand for two rows of three.
it.each([
  ["rows", "00 01 02 10 11 12"],
  ["columns", "00 10 01 11 02 12"],
  ["rows back and forth", "00 01 02 12 11 10"],
  ["columns back and forth", "00 10 11 01 02 12"],
] as const)("serves a tray of 2 × 3 by %s", (order, wanted) => {
  expect(
    servingOrder(2, 3, order)
      .map((place) => place.join(""))
      .join(" "),
  ).toBe(wanted);
});
