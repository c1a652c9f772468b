import { describe, expect, it } from "vitest";
import { identityPose, poseFromAbc, translation } from "../math/pose.ts";
import { combineBodies } from "./payload.ts";

const point = (mass: number) => ({ mass, centre: [0, 0, 0] as const, tensor: [0, 0, 0, 0, 0, 0] as const });

describe("combineBodies", () => {
  it("of two point masses is the dumb-bell of the textbook: m1 m2 / (m1 + m2) d²", () => {
    const load = combineBodies([
      { inertia: point(1), flangeFromBody: translation(0, 0, 0) },
      { inertia: point(3), flangeFromBody: translation(0, 0, 0.4) },
    ]);
    expect(load.mass).toBe(4);
    expect(load.centre[2]).toBeCloseTo(0.3, 12);
    expect(load.inertia[0]).toBeCloseTo((3 / 4) * 0.16, 12);
    expect(load.inertia[1]).toBeCloseTo((3 / 4) * 0.16, 12);
    expect(load.inertia[2]).toBeCloseTo(0, 12);
  });

  it("turns the tensor with the body", () => {
    const rod = { mass: 2, centre: [0, 0, 0.1] as const, tensor: [0.02, 0.02, 0.001, 0, 0, 0] as const };
    const load = combineBodies([{ inertia: rod, flangeFromBody: poseFromAbc([0, 0, 0], 0, Math.PI / 2, 0) }]);
    expect(Array.from(load.centre)).toEqual([expect.closeTo(0.1, 12), expect.closeTo(0, 12), expect.closeTo(0, 12)]);
    expect(load.inertia[0]).toBeCloseTo(0.001, 12);
    expect(load.inertia[2]).toBeCloseTo(0.02, 12);
  });

  it("does not depend on the order or the grouping of the bodies", () => {
    const a = { inertia: { mass: 1.2, centre: [0.01, 0.02, 0.03] as const, tensor: [0.01, 0.02, 0.015, 0.001, -0.002, 0.003] as const }, flangeFromBody: poseFromAbc([0.1, 0, 0.05], 0.3, -0.4, 1.1) };
    const b = { inertia: { mass: 0.4, centre: [0, 0.05, 0] as const, tensor: [0.002, 0.001, 0.002, 0, 0, 0] as const }, flangeFromBody: poseFromAbc([0, 0.1, 0.2], -1, 0.2, 0.4) };
    const c = { inertia: point(0.7), flangeFromBody: translation(0.02, -0.03, 0.2) };
    const all = combineBodies([a, b, c]);
    const ab = combineBodies([b, a]);
    const grouped = combineBodies([
      c,
      { inertia: { mass: ab.mass, centre: Array.from(ab.centre) as [number, number, number], tensor: Array.from(ab.inertia) as [number, number, number, number, number, number] }, flangeFromBody: identityPose() },
    ]);
    expect(grouped.mass).toBeCloseTo(all.mass, 12);
    for (let k = 0; k < 6; k++) expect(grouped.inertia[k]).toBeCloseTo(all.inertia[k]!, 12);
  });

  it("refuses a negative mass", () => {
    expect(() => combineBodies([{ inertia: point(-1), flangeFromBody: identityPose() }])).toThrow("got -1");
  });
});
