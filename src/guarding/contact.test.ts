/** ISO/TS 15066:2016, annex A; limits and constants recalled (M), numbers recomputed (R). */
import fc from "fast-check";
import { describe, expect, it } from "vitest";
import type { BodyRegionName } from "../cell/guarding.ts";
import { bodyRegions } from "./body-regions.ts";
import { blowForce, blowLimit, clampLimit, contactEnergy, simplifiedMass } from "./contact.ts";

const region = (name: BodyRegionName) => bodyRegions.get(name)!;

describe("speed of a blow by force", () => {
  // M = 20, m_L = 3, so m_R = 13 kg.
  it.each([
    ["hand", 1.35],
    ["lower arm", 1.2153],
    ["chest", 0.5654],
    ["shoulder", 0.7167], // formula with 2 × 210 N, k 35, m_H 40: T
    ["pelvis", 0.7269],
    ["thigh", 0.5912],
  ] as const)("%s: %d m/s", (name, speed) =>
    expect(blowLimit(region(name), simplifiedMass(20, 3), undefined).speed).toBeCloseTo(speed, 3),
  );
  // M = 12, m_L = 1.5.
  it.each([
    ["hand", 1.3717],
    ["chest", 0.7047],
  ] as const)("%s, lighter arm: %d m/s", (name, speed) =>
    expect(blowLimit(region(name), simplifiedMass(12, 1.5), undefined).speed).toBeCloseTo(speed, 4),
  );
});

it("energy form, E = F²/(2k) (R)", () => {
  expect(contactEnergy(280, 75_000)).toBeCloseTo(0.52267, 5);
  expect(contactEnergy(280, 25_000)).toBeCloseTo(1.568, 9);
  expect(contactEnergy(320, 40_000)).toBeCloseTo(1.28, 9);
  const limit = blowLimit(region("chest"), 13, undefined);
  expect(limit.energy).toBeCloseTo(contactEnergy(limit.force, 25_000), 9);
});

it("pressure form: the lower of the two governs (R)", () => {
  const wide = blowLimit(region("hand"), 13, 1e-4);
  expect(wide.byPressure).toBeCloseTo(1.8322, 4);
  expect(wide).toMatchObject({ governs: "force" });
  expect(wide.speed).toBeCloseTo(1.35, 3);
  const narrow = blowLimit(region("hand"), 13, 0.5e-4);
  expect(narrow.speed).toBeCloseTo(0.9161, 4);
  expect(narrow.governs).toBe("pressure");
});

it("a blow at the head is not permitted at any speed", () => {
  for (const name of ["skull", "face"] as const)
    expect(blowLimit(region(name), 13, 1e-4)).toMatchObject({ speed: 0, governs: "not permitted" });
});

it("force, speed and mass go together, and clamping is never faster than a blow", () => {
  const names = fc.constantFrom(...bodyRegions.keys());
  const mass = fc.double({ min: 0.1, max: 500, noNaN: true });
  fc.assert(
    fc.property(names, mass, mass, (name, a, b) => {
      const light = blowLimit(region(name), Math.min(a, b), 2e-4);
      const heavy = blowLimit(region(name), Math.max(a, b), 2e-4);
      expect(heavy.speed).toBeLessThanOrEqual(light.speed + 1e-12);
      if (light.governs === "not permitted") return;
      expect(blowForce(light.speed, Math.min(a, b), region(name))).toBeCloseTo(light.force, 6);
      expect(clampLimit(region(name), a, 2e-4).speed).toBeLessThan(blowLimit(region(name), a, 2e-4).speed);
    }),
    { seed: 15066, numRuns: 300 },
  );
});

it("refuses impossible masses and areas", () => {
  expect(() => blowLimit(region("hand"), -1, undefined)).toThrow("got -1");
  expect(() => blowLimit(region("hand"), 13, 0)).toThrow("contact area");
  expect(() => simplifiedMass(20, -3)).toThrow("load");
});
