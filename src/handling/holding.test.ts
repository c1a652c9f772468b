import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { ContractError } from "../math/contract-error.ts";
import { forcePerJaw, vJawForce } from "./grip.ts";
import { type Holding, holdingModel } from "./holding.ts";

const flat: Holding = { jaws: 2, way: "friction", friction: 0.15, safetyFactor: 2 };
const G = 9.81;

// Total force m (g + a) S / µ: read in ASSEMBLY magazine, "How to select a gripper based on grip force". V-jaws
// m (g + a) S sin(α/2) / (2 µ) per jaw: handbook formula recalled from memory. Numbers recomputed by hand.
describe("worked examples of friction grips", () => {
  it.each([
    [1, 5, 0.15, 98.733],
    [2.5, 3, 0.1, 320.25],
  ])("%d kg at %d m/s² with µ %d, load across two flat jaws: %d N each", (mass, a, friction, expected) => {
    const { need } = holdingModel({ ...flat, friction });
    expect(need(0, 0, mass * (G + a))).toBeCloseTo(expected, 2);
    expect(need(0, -mass * (G + a), 0)).toBeCloseTo(expected, 2);
    expect(2 * expected).toBeCloseTo(expected === 98.733 ? 197.467 : 640.5, 2);
  });

  it.each([
    [120, 85.5056],
    [90, 69.815],
  ])("in a V of %d°: %d N each", (degrees, expected) => {
    const vAngle = (degrees * Math.PI) / 180;
    const { need } = holdingModel({ ...flat, vAngle, along: "z" });
    expect(need(0, 0, 1 * (G + 5))).toBeCloseTo(expected, 3);
    const grip = { mass: 1, acceleration: 5, gravity: G, friction: 0.15, safetyFactor: 2, jaws: 2 };
    expect(vJawForce(grip, vAngle)).toBeCloseTo(expected, 3);
  });
});

const force = () => fc.double({ min: -200, max: 200, noNaN: true });
const load = () => fc.tuple(force(), force(), force());
const seeded = { seed: 20_261, numRuns: 400 } as const;

describe("the force per jaw", () => {
  it("is never more than the handbook's, which takes the whole load across the jaws", () => {
    fc.assert(
      fc.property(
        load(),
        fc.constantFrom(2, 3, 4, 6),
        fc.double({ min: 0.05, max: 0.5, noNaN: true }),
        (f, jaws, friction) => {
          const size = Math.hypot(...f);
          const handbook = forcePerJaw({ mass: 1, acceleration: size, gravity: 0, friction, safetyFactor: 2, jaws });
          expect(holdingModel({ ...flat, jaws, friction }).need(...f)).toBeLessThanOrEqual(handbook * (1 + 1e-12));
        },
      ),
      seeded,
    );
  });

  it("grows in step with load and safety factor, and never with friction", () => {
    fc.assert(
      fc.property(load(), fc.constantFrom(1, 2, 3), fc.double({ min: 1, max: 5, noNaN: true }), (f, jaws, k) => {
        const once = holdingModel({ ...flat, jaws, safetyFactor: 1 });
        const more = once.need(k * f[0], k * f[1], k * f[2]);
        expect(more).toBeCloseTo(k * once.need(...f), 6);
        expect(holdingModel({ ...flat, jaws, safetyFactor: k }).need(...f)).toBeCloseTo(more, 6);
        expect(holdingModel({ ...flat, jaws, safetyFactor: 1, friction: 0.15 * k }).need(...f)).toBeLessThanOrEqual(
          once.need(...f) * (1 + 1e-12),
        );
      }),
      seeded,
    );
  });

  it("is the least with which two coupled jaws hold: contact forces solved one by one", () => {
    fc.assert(
      fc.property(load(), (f) => {
        const model = holdingModel({ ...flat, safetyFactor: 1 });
        const holds = (each: number) => {
          // Coupled drive: N1 + N2 = 2 F; balance along x: N1 - N2 = fx.
          const [n1, n2] = [each + f[0] / 2, each - f[0] / 2];
          return n1 >= -1e-9 && n2 >= -1e-9 && 0.15 * (n1 + n2) >= Math.hypot(f[1], f[2]) - 1e-9;
        };
        const need = model.need(...f);
        expect(holds(need)).toBe(true);
        if (need > 1e-3) expect(holds(need * (1 - 1e-6) - 1e-7)).toBe(false);
      }),
      seeded,
    );
  });

  it("keeps every contact of three jaws closed, whichever way a load across points", () => {
    const { need } = holdingModel({ ...flat, jaws: 3, safetyFactor: 1 });
    let closest = Number.POSITIVE_INFINITY;
    for (let k = 0; k < 360; k++) {
      const phi = (k * Math.PI) / 180;
      const [x, y] = [30 * Math.cos(phi), 30 * Math.sin(phi)];
      const each = need(x, y, 0);
      const contacts = [0, 1, 2].map((i) => each + (2 / 3) * 30 * Math.cos((2 * Math.PI * i) / 3 - phi));
      // The changes carry the load: Σ (Ni - F) ni = f.
      const sum = [0, 1, 2].map((i) => (contacts[i]! - each) * Math.cos((2 * Math.PI * i) / 3));
      expect(sum.reduce((a, b) => a + b)).toBeCloseTo(x, 9);
      expect(contacts.reduce((a, b) => a + b)).toBeCloseTo(3 * each, 9);
      closest = Math.min(closest, ...contacts);
    }
    expect(closest).toBeCloseTo(0, 9);
  });

  it("keeps all four flanks of two V-jaws closed: their forces solved from the balance", () => {
    fc.assert(
      fc.property(force(), force(), fc.double({ min: 0.6, max: 2.9, noNaN: true }), (fx, fy, vAngle) => {
        const each = holdingModel({ ...flat, safetyFactor: 1, vAngle, along: "z" }).need(fx, fy, 0);
        const half = vAngle / 2;
        // Jaw forces F ± fx/2; on each jaw the flanks a, b: (a + b) sin = jaw force, (a - b) cos = ± fy/2.
        const flanks = [each + fx / 2, each - fx / 2].flatMap((jaw) => {
          const [sum, difference] = [jaw / Math.sin(half), fy / (2 * Math.cos(half))];
          return [(sum + difference) / 2, (sum - difference) / 2];
        });
        expect(Math.min(...flanks)).toBeGreaterThanOrEqual(-1e-9);
        expect(Math.min(...flanks)).toBeLessThanOrEqual(1e-6 * (1 + Math.max(...flanks)));
      }),
      seeded,
    );
  });

  it("of form fit is only what would push the jaws open", () => {
    const { need, decides } = holdingModel({ ...flat, way: "form", friction: Number.NaN });
    expect(need(0, 500, -500)).toBe(0);
    expect(need(30, 0, 0)).toBe(30);
    expect(decides(30, 0, 0)).toBe("load along the jaws");
  });

  it.each([
    ["jaws", { jaws: 0 }],
    ["jaws", { jaws: 2.5 }],
    ["friction", { friction: 0 }],
    ["friction", { friction: Number.NaN }],
    ["friction", { friction: -0.2 }],
    ["safetyFactor", { safetyFactor: 0.9 }],
    ["vAngle", { vAngle: 0 }],
    ["vAngle", { vAngle: 4 }],
  ])("is refused for an impossible %s", (name, wrong) => {
    expect(() => holdingModel({ ...flat, ...wrong })).toThrow(ContractError);
    expect(() => holdingModel({ ...flat, ...wrong })).toThrow(name);
  });
});
