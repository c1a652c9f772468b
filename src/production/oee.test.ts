import { expect, it } from "vitest";
import { type OeeInputs, oeeOf } from "./oee.ts";

const minutes = (plannedBusy: number, down: number, planned: number, made: number, good: number) =>
  oeeOf({
    plannedBusy: plannedBusy * 60,
    producing: (plannedBusy - down) * 60,
    planned: planned * 60,
    made,
    good,
  } as OeeInputs);

// Worked with the definitions of ISO 22400-2:2014 (recalled from memory): products of the three shares by hand.
it("two worked shifts", () => {
  const first = minutes(480, 60, 1, 380, 361);
  expect(first.availability).toBeCloseTo(0.875, 12);
  expect(first.effectiveness).toBeCloseTo(0.904762, 6);
  expect(first.quality).toBeCloseTo(0.95, 12);
  expect(first.oee).toBeCloseTo(0.752083, 6);
  const second = minutes(450, 45, 0.8, 450, 441);
  expect([second.availability, second.quality]).toEqual([0.9, 0.98]);
  expect(second.effectiveness).toBeCloseTo(0.888889, 6);
  expect(second.oee).toBeCloseTo(0.784, 12);
});

it("what is not defined is not a number", () => {
  expect(minutes(60, 60, 1, 0, 0)).toEqual({ availability: 0, effectiveness: undefined, quality: undefined, oee: 0 });
  expect(minutes(60, 0, 1, 0, 0)).toMatchObject({ effectiveness: 0, quality: undefined });
});

it("refuses what cannot be", () => {
  expect(() => minutes(60, 0, 1, 10, 11)).toThrow(/more good/);
  expect(() => minutes(60, -1, 1, 10, 1)).toThrow(/longer than planned/);
  expect(() => minutes(0, 0, 1, 0, 0)).toThrow(/above 0/);
  expect(() => minutes(60, 0, -1, 1, 1)).toThrow(/planned/);
});
