/**
 * Input types of IEC 61131-2 (table of operating ranges for 24 V d.c. current-sinking inputs). 5 V and 15 V of types 1 and 3, 11 V
 * of type 3, 30 V and 2 mA at 15 V stand in published extracts of the table; the rest is recalled from memory.
 */
import { describe, expect, it } from "vitest";
import { INPUT_TYPES, type InputState, inputState, SUPPLY_VOLTS } from "./input-types.ts";

describe("states by voltage", () => {
  it.each([
    // 8 V is neither on nor off on any type; 12 V is on for types 2 and 3 and undefined for type 1.
    [8, "undefined", "undefined", "undefined"],
    [12, "undefined", "on", "on"],
    [-3, "off", "off", "off"],
    [0, "off", "off", "off"],
    [5, "off", "off", "off"],
    [5.01, "undefined", "undefined", "undefined"],
    [10.99, "undefined", "undefined", "undefined"],
    [11, "undefined", "on", "on"],
    [14.99, "undefined", "on", "on"],
    [15, "on", "on", "on"],
    [24, "on", "on", "on"],
    [30, "on", "on", "on"],
    [30.1, "outside", "outside", "outside"],
    [-3.1, "outside", "outside", "outside"],
    [Number.NaN, "outside", "outside", "outside"],
  ] as [number, InputState, InputState, InputState][])("%f V", (volts, one, two, three) => {
    expect([inputState(1, volts), inputState(2, volts), inputState(3, volts)]).toEqual([one, two, three]);
  });
});

describe("states by voltage and current", () => {
  it.each([
    [1, 15, 0.0004, "off"],
    [1, 15, 0.0005, "undefined"],
    [1, 15, 0.002, "on"],
    [1, 15.1, 0.0004, "undefined"],
    [2, 11, 0.0019, "off"],
    [2, 11, 0.006, "on"],
    [2, 24, 0.0059, "undefined"],
    [3, 11, 0.0014, "off"],
    [3, 8, 0.0014, "off"],
    [3, 8, 0.0015, "undefined"],
    [3, 11, 0.002, "on"],
  ] as [1 | 2 | 3, number, number, InputState][])("type %i at %f V, %f A", (type, volts, amperes, state) => {
    expect(inputState(type, volts, amperes)).toBe(state);
  });
});

it("the supply is 24 V less 15 %, plus 20 %, and on for every type", () => {
  expect(SUPPLY_VOLTS[0]).toBeCloseTo(24 * 0.85, 12);
  expect(SUPPLY_VOLTS[1]).toBeCloseTo(24 * 1.2, 12);
  for (const type of [1, 2, 3] as const)
    for (const volts of SUPPLY_VOLTS) expect(inputState(type, volts, INPUT_TYPES[type].onCurrent[0])).toBe("on");
});
