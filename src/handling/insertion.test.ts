import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { ContractError } from "../math/contract-error.ts";
import {
  caughtError,
  clearanceRatio,
  enteringTilt,
  jamming,
  jammingMoment,
  jammingParameter,
  twoPointTilt,
  wedgingDepth,
  wedgingTilt,
} from "./insertion.ts";

// Whitney, J. Dyn. Sys. 104, 1982: formulas recalled from memory, numbers recomputed by hand. Lengths in mm here: only ratios count.
describe("worked examples after Whitney", () => {
  it.each([
    [20, 19.95, 0.1, 0.0025, 0.025, 1.995],
    [30, 29.96, 0.15, 0.001333, 0.008889, 4.494],
  ])("D %d, d %d, µ %d", (hole, part, friction, ratio, tilt, depth) => {
    expect(clearanceRatio(hole, part)).toBeCloseTo(ratio, 6);
    expect(wedgingTilt(hole, part, friction)).toBeCloseTo(tilt, 6);
    expect(wedgingDepth(part, friction)).toBeCloseTo(depth, 9);
  });

  it("two-point contact, exact", () => {
    expect(twoPointTilt(20, 19.95, 5)).toBeCloseTo(0.0102081, 7);
    expect(twoPointTilt(30, 29.96, 5)).toBeCloseTo(0.0082016, 7);
  });

  it("two-point contact is near l θ = D - d for small angles", () => {
    // (20, 19.95), l 30: 0.00166667 rad.
    expect(twoPointTilt(20, 19.95, 30)).toBeCloseTo(0.00166667, 5);
  });

  it("the largest tilt at which the part enters", () => {
    expect(enteringTilt(20, 19.95)).toBeCloseTo(0.0707107, 7);
    expect(enteringTilt(20, 20.5)).toBe(0);
  });

  it("jamming: λ, and the boundary between one moment and one side force", () => {
    expect(jammingParameter(19.95, 5, 0.1)).toBeCloseTo(2.506266, 6);
    expect(jammingParameter(19.95, 20, 0.1)).toBeCloseTo(10.025063, 6);
    expect(jammingMoment(19.95, 5, 0.1, 5)).toBeCloseTo(0.753133, 6);
    expect(jammingMoment(19.95, 20, 0.1, 5)).toBeCloseTo(4.512531, 6);
    expect(jammingMoment(19.95, 5, 0.1, 0)).toBeCloseTo(2.506266, 6);
  });

  it("chamfer crossing: widths 0.5 and 0.5 catch an error of 0.8 and not of 1.2", () => {
    const caught = caughtError(20, 20, 0.5, 0.5);
    expect(0.8 <= caught).toBe(true);
    expect(1.2 <= caught).toBe(false);
  });
});

const seeded = { seed: 1982, numRuns: 300 } as const;
const part = () => fc.double({ min: 5, max: 80, noNaN: true });
const share = () => fc.double({ min: 1e-4, max: 0.05, noNaN: true });

describe("two-point contact", () => {
  it("solves D = d cos θ + l sin θ, and below it the part is free", () => {
    fc.assert(
      fc.property(part(), share(), fc.double({ min: 0.5, max: 3, noNaN: true }), (d, ratio, slender) => {
        const hole = d / (1 - ratio);
        const depth = d * slender;
        const tilt = twoPointTilt(hole, d, depth)!;
        expect(d * Math.cos(tilt) + depth * Math.sin(tilt)).toBeCloseTo(hole, 9);
        expect(tilt).toBeGreaterThan(0);
        for (const k of [0.1, 0.5, 0.99])
          expect(d * Math.cos(k * tilt) + depth * Math.sin(k * tilt)).toBeLessThan(hole);
      }),
      seeded,
    );
  });

  it("does not exist without clearance, nor where the hole is wider than the part's diagonal", () => {
    expect(twoPointTilt(19, 20, 5)).toBeUndefined();
    expect(twoPointTilt(30, 20, 5)).toBeUndefined();
    expect(() => twoPointTilt(20, 0, 5)).toThrow(ContractError);
  });
});

describe("jamming", () => {
  it("begins exactly at the boundary", () => {
    fc.assert(
      fc.property(
        part(),
        fc.double({ min: 0.05, max: 0.4, noNaN: true }),
        fc.double({ min: -0.9, max: 0.9, noNaN: true }),
        (d, friction, k) => {
          const depth = d;
          const ratio = k / friction;
          const edge = jammingMoment(d, depth, friction, ratio);
          const at = (m: number) =>
            jamming(d, depth, friction, { along: 100, across: 100 * ratio, moment: (100 * m * d) / 2 });
          expect(at(edge).use).toBeGreaterThanOrEqual(1 - 1e-9);
          const inside = at(edge - 0.02);
          if (inside.by === "moment") expect(inside.use).toBeLessThan(1);
          expect(at(edge + 0.02).use).toBeGreaterThan(1);
        },
      ),
      seeded,
    );
  });

  // The same boundary from the contact forces: part at depth l, forces N1 at the mouth and N2 at the tip on the other side, both
  // with full friction against the way in; moments about the middle of the tip.
  it("agrees with the balance of two contacts at full friction", () => {
    fc.assert(
      fc.property(
        part(),
        fc.double({ min: 0.05, max: 0.4, noNaN: true }),
        fc.double({ min: 0.3, max: 2, noNaN: true }),
        fc.double({ min: 0.1, max: 10, noNaN: true }),
        fc.double({ min: 0.1, max: 10, noNaN: true }),
        (d, friction, slender, n1, n2) => {
          const r = d / 2;
          const l = slender * d;
          const along = friction * (n1 + n2);
          const across = n2 - n1;
          // N1 at height l pushes one way, its friction acts at ∓ r; N2 at the tip the other way, its friction at ± r.
          const moment = n1 * l + friction * r * (n1 - n2);
          const { use } = jamming(d, l, friction, { along, across, moment });
          expect(use).toBeCloseTo(1, 9);
        },
      ),
      seeded,
    );
  });

  it("cannot be asked of a pull", () => {
    expect(() => jamming(20, 5, 0.1, { along: 0, across: 1, moment: 0 })).toThrow(ContractError);
  });
});
