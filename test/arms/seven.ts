/** An invented arm of seven turning joints, each axis square to the next: redundant for a tool pose. */
import type { ArmDescription } from "../../src/cell/arm-description.ts";
import { describeDh } from "./describe.ts";

const right = Math.PI / 2;

export const sevenJoints = (): ArmDescription =>
  describeDh("seven", [
    { a: 0, alpha: -right, d: 0.34 },
    { a: 0, alpha: right, d: 0 },
    { a: 0, alpha: right, d: 0.4 },
    { a: 0, alpha: -right, d: 0 },
    { a: 0, alpha: -right, d: 0.4 },
    { a: 0, alpha: right, d: 0 },
    { a: 0, alpha: 0, d: 0.12 },
  ]);
