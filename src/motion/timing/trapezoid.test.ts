import { describe, expect, it } from "vitest";
import { seeded } from "../../../test/timing/random.ts";
import { doubleS, doubleSPhases } from "./double-s.ts";
import { sampleProfile } from "./profile.ts";
import { trapezoid } from "./trapezoid.ts";

const state = new Float64Array(4);

describe("trapezoid", () => {
  // T = D/V + V/A or 2√(D/A); Biagiotti & Melchiorri 2008, ch. 3 (recalled), worked by hand.
  it.each([
    [1, 0.5, 1, 2.5],
    [0.3, 0.5, 1, 1.1],
    [0.25, 0.5, 1, 1.0],
    [90, 180, 600, 0.8],
    [120, 250, 1000, 0.73],
    [10, 180, 600, 0.2581988897],
  ])("rest to rest over %d with V %d, A %d takes %d s", (d, v, a, t) => {
    expect(trapezoid(0, d, 0, 0, v, a).duration).toBeCloseTo(t, 9);
    expect(trapezoid(d, 0, 0, 0, v, a).duration).toBeCloseTo(t, 9);
  });

  it("meets any end states exactly and is never slower than a bang-bang law through any other peak", () => {
    const random = seeded(11);
    for (let k = 0; k < 500; k++) {
      const V = 0.2 + 2 * random();
      const A = 0.2 + 2 * random();
      const [p0, p1] = [random() * 4 - 2, random() * 4 - 2];
      const [v0, v1] = [V * (2 * random() - 1), V * (2 * random() - 1)];
      const law = trapezoid(p0, p1, v0, v1, V, A);
      expect(Math.abs(law.end[0]! - p1)).toBeLessThan(1e-12);
      expect(Math.abs(law.end[1]! - v1)).toBeLessThan(1e-12);
      let fastest = 0;
      for (let i = 0; i <= 20; i++) {
        sampleProfile(law, (law.duration * i) / 20, state);
        fastest = Math.max(fastest, Math.abs(state[1]!));
      }
      expect(fastest).toBeLessThanOrEqual(V * (1 + 1e-12));
      // Any cruise speed w between ramps at full acceleration is a feasible law when its cruise time is not negative.
      for (let i = 0; i <= 10; i++) {
        const w = V * (2 * random() - 1);
        const ramps = Math.abs(w - v0) / A + Math.abs(w - v1) / A;
        const moved = (((v0 + w) / 2) * Math.abs(w - v0)) / A + (((v1 + w) / 2) * Math.abs(w - v1)) / A;
        const cruise = (p1 - p0 - moved) / w;
        if (cruise >= 0) expect(law.duration).toBeLessThanOrEqual(ramps + cruise + 1e-9);
      }
    }
  });

  it("refuses limits that are not positive and end speeds beyond the limit", () => {
    expect(() => trapezoid(0, 1, 0, 0, 0, 1)).toThrow("velocity must be above 0, got 0");
    expect(() => trapezoid(0, 1, 2, 0, 1, 1)).toThrow("v0 must be within ±1, got 2");
    expect(() => trapezoid(0, Number.NaN, 0, 0, 1, 1)).toThrow("p1 must be finite, got NaN");
  });
});

describe("double S", () => {
  // Closed forms of check values (ch. 3 of the same book, recalled; recomputed from T = D/V + V/A + A/J and its cases).
  it.each([
    [1, 0.5, 2, 20, 2.35],
    [1, 0.5, 2, 4, 2.7071067812],
    [0.1, 0.5, 2, 20, 0.5582575695],
    [0.005, 0.5, 2, 20, 0.2],
    [90, 180, 600, 6000, 0.9],
    [1, 1, 1, 1, 3.1748021039],
  ])("rest to rest over %d with V %d, A %d, J %d takes %d s", (d, v, a, j, t) => {
    expect(doubleS(0, d, 0, 0, v, a, j).duration).toBeCloseTo(t, 9);
  });

  it("peak speed of a move that does not reach the top speed", () => {
    expect(doubleSPhases(0, 0.1, 0, 0, 0.5, 2, 20).peak).toBeCloseTo(0.358258, 6);
  });

  // The last two are the least times of two independent ramps (found also by bisecting a linear program over the jerk);
  // the book's procedure, which shrinks both acceleration limits together, takes 1.933 and 2.6667 s.
  it.each([
    [1, 5, 0.7333333, 1.1433333, 0.8333333, 5],
    [1, 10, 1.07469, 0, 1.17469, 8.413567],
    [7, 10, 0.533581, 0, 1.246865, 9.135315],
    [7.5, 10, 0.490465, 0, 1.26375, 9.304169],
  ])("0 to 10 from speed %d under V %d, A 10, J 30", (v0, V, rise, cruise, fall, peak) => {
    const phases = doubleSPhases(0, 10, v0, 0, V, 10, 30);
    expect(phases.rise).toBeCloseTo(rise, 6);
    expect(phases.cruise).toBeCloseTo(cruise, 6);
    expect(phases.fall).toBeCloseTo(fall, 6);
    expect(phases.peak).toBeCloseTo(peak, 6);
  });

  it("ends exactly, keeps its limits and has derivatives that belong together", () => {
    const random = seeded(12);
    const before = new Float64Array(4);
    for (let k = 0; k < 500; k++) {
      const V = 0.2 + 2 * random();
      const A = 0.2 + 2 * random();
      const J = 0.5 + 5 * random();
      const p1 = 4 * random() - 2;
      const [v0, v1] = [V * (2 * random() - 1), V * (2 * random() - 1)];
      const law = doubleS(0, p1, v0, v1, V, A, J);
      expect(Math.abs(law.end[0]! - p1)).toBeLessThan(1e-9);
      expect(Math.abs(law.end[1]! - v1)).toBeLessThan(1e-9);
      expect(Math.abs(law.end[2]!)).toBeLessThan(1e-9);
      const step = law.duration / 400;
      sampleProfile(law, 0, before);
      let use = 0;
      let mismatch = 0;
      for (let i = 1; i <= 400; i++) {
        sampleProfile(law, i * step, state);
        use = Math.max(use, Math.abs(state[1]!) / V, Math.abs(state[2]!) / A, Math.abs(state[3]!) / J);
        mismatch = Math.max(mismatch, Math.abs(state[0]! - before[0]! - (step * (state[1]! + before[1]!)) / 2));
        before.set(state);
      }
      expect(use).toBeLessThanOrEqual(1 + 1e-9);
      // Mean of the end speeds against the way done: equal up to J step³/12.
      expect(mismatch).toBeLessThan(J * step ** 3);
    }
  });

  it("tends to the trapezoid as the jerk limit grows, and is never faster", () => {
    for (const d of [0.05, 0.5, 3]) {
      const base = trapezoid(0, d, 0.2, 0.1, 1, 2).duration;
      let last = Number.POSITIVE_INFINITY;
      for (const j of [10, 100, 1e3, 1e5]) {
        const t = doubleS(0, d, 0.2, 0.1, 1, 2, j).duration;
        expect(t).toBeGreaterThanOrEqual(base);
        expect(t).toBeLessThan(last);
        last = t;
      }
      expect(last - base).toBeLessThan(1e-4);
    }
  });
});
