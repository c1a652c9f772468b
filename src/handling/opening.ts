/** Whether the jaws open wide enough for a part and close far enough to hold it. */
import type { Metres } from "../math/units.ts";

export interface JawWays {
  /** Distance between the gripping faces with the jaws fully apart (outside gripping: open; inside gripping: holding), m. */
  readonly opening: Metres;
  /** How much that distance changes from open to closed, m. */
  readonly stroke: Metres;
  /** Whether the jaws hold the part from outside, closing, or from inside, spreading. */
  readonly side: "outside" | "inside";
}

export interface OpeningRoom {
  /** Room per side between jaw and largest part when the gripper is released, m; negative: it does not go in. */
  readonly release: Metres;
  /** Way left per gripper (both sides together) when it holds the smallest part, m; negative: it does not reach the part. */
  readonly hold: Metres;
}

/** @param width nominal distance between the faces gripped, m   @param tolerance deviation either way, m */
export function openingRoom({ opening, stroke, side }: JawWays, width: Metres, tolerance: Metres): OpeningRoom {
  const least = opening - stroke;
  return side === "outside"
    ? { release: (opening - (width + tolerance)) / 2, hold: width - tolerance - least }
    : { release: (width - tolerance - least) / 2, hold: opening - (width + tolerance) };
}
