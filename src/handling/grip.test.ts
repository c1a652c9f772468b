import { describe, expect, it } from "vitest";
import { ContractError } from "../math/contract-error.ts";
import { forcePerJaw } from "./grip.ts";

// Handbook friction grip F = m (g + a) S / µ (formula recalled from memory; numbers recomputed by hand).
describe("forcePerJaw", () => {
  it.each([
    [1, 5, 0.15, 2, 98.733],
    [2.5, 3, 0.1, 2, 320.25],
  ])("holds %d kg at %d m/s² with µ %d", (mass, acceleration, friction, jaws, expected) => {
    const force = forcePerJaw({ mass, acceleration, gravity: 9.81, friction, safetyFactor: 2, jaws });
    expect(force).toBeCloseTo(expected, 2);
  });

  it("shares the same total among the jaws", () => {
    const grip = { mass: 1.7, acceleration: 4, gravity: 9.81, friction: 0.12, safetyFactor: 2 };
    expect(3 * forcePerJaw({ ...grip, jaws: 3 })).toBeCloseTo(2 * forcePerJaw({ ...grip, jaws: 2 }), 9);
  });

  it.each([
    ["friction", { friction: 0 }],
    ["mass", { mass: -1 }],
    ["acceleration", { acceleration: Number.NaN }],
    ["safetyFactor", { safetyFactor: 0.5 }],
  ])("refuses an impossible %s and prints it", (name, wrong) => {
    const grip = { mass: 1, acceleration: 1, gravity: 9.81, friction: 0.1, safetyFactor: 2, jaws: 2, ...wrong };
    expect(() => forcePerJaw(grip)).toThrow(ContractError);
    expect(() => forcePerJaw(grip)).toThrow(name);
  });
});
