import { describe, expect, it } from "vitest";
import { jawMoment, momentOf } from "./jaw-moment.ts";
import { openingRoom } from "./opening.ts";

describe("moment on a jaw", () => {
  it("is lever times force, shared by the jaws", () => {
    expect(jawMoment([0, 0, 0.05], [0, 20, 0], 2)).toBeCloseTo(0.5, 12);
    expect(jawMoment([0, 0, 0.05], [0, 20, 0], 1)).toBeCloseTo(1, 12);
    expect(jawMoment([0, 0, 0.05], [0, 0, 20], 2)).toBe(0);
  });

  it("turns about the line from jaw to jaw as the right hand says", () => {
    expect(momentOf([0, 0, 1], [0, 1, 0])).toEqual([-1, 0, 0]);
    expect(momentOf([0, 1, 0], [0, 0, 1])).toEqual([1, 0, 0]);
  });
});

describe("room of the jaws", () => {
  const ways = { opening: 0.04, stroke: 0.015, side: "outside" } as const;

  it("from outside: opened around the largest, closed onto the smallest", () => {
    const { release, hold } = openingRoom(ways, 0.032, 0.0005);
    expect(release).toBeCloseTo((0.04 - 0.0325) / 2, 12);
    expect(hold).toBeCloseTo(0.0315 - 0.025, 12);
    expect(openingRoom(ways, 0.041, 0).release).toBeLessThan(0);
    expect(openingRoom(ways, 0.024, 0).hold).toBeLessThan(0);
  });

  it("from inside: closed into the smallest, spread onto the largest", () => {
    const inside = { ...ways, side: "inside" } as const;
    const { release, hold } = openingRoom(inside, 0.03, 0.0005);
    expect(release).toBeCloseTo((0.0295 - 0.025) / 2, 12);
    expect(hold).toBeCloseTo(0.04 - 0.0305, 12);
    expect(openingRoom(inside, 0.024, 0).release).toBeLessThan(0);
    expect(openingRoom(inside, 0.041, 0).hold).toBeLessThan(0);
  });
});
