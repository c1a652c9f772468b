import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { compose, rotationAbout, translation } from "../math/pose.ts";
import { jsonNumbers, makeRigid, RIGID_TOLERANCE, readNumbers, readRigidPose } from "./line-values.ts";

const pose = () => compose(translation(0.1, -0.2, 0.3), rotationAbout([1, 2, 3], 0.7));

describe("reading values", () => {
  it("tells what is wrong with an array", () => {
    const out = new Float64Array(2);
    const expected = "2 numbers (joint values)";
    expect(readNumbers({ q: [1, 2] }, "q", out, "joint values")).toBeUndefined();
    expect([...out]).toEqual([1, 2]);
    expect(readNumbers({}, "q", out, "joint values")).toEqual({
      found: "q: nothing",
      expected: `"q" with ${expected}`,
    });
    expect(readNumbers({ q: [1] }, "q", out, "joint values")).toEqual({ found: "q with 1 entries", expected });
    for (const [entry, found] of [
      ["1", 'q[1]: "1"'],
      [null, "q[1]: null"],
      [true, "q[1]: true"],
    ]) {
      expect(readNumbers({ q: [1, entry] }, "q", out, "joint values")).toEqual({ found, expected: "a finite number" });
    }
    expect(readNumbers(JSON.parse('{"q":[1,1e999]}'), "q", out, "joint values")?.expected).toBe("a finite number");
  });

  it("accepts rigid transforms and straightens those written with few decimals", () => {
    fc.assert(
      fc.property(fc.double({ min: -3, max: 3, noNaN: true }), fc.integer({ min: 7, max: 17 }), (angle, digits) => {
        const exact = compose(translation(0.1, -0.2, 0.3), rotationAbout([1, 2, 3], angle));
        const written = [...exact].map((x) => Number(x.toFixed(Math.min(digits, 15))));
        const out = new Float64Array(16);
        expect(readRigidPose({ pose: written }, "pose", out)).toBeUndefined();
        for (let i = 0; i < 3; i++)
          for (let j = 0; j < 3; j++) {
            const dot = [0, 4, 8].reduce((sum, r) => sum + out[r + i]! * out[r + j]!, 0);
            expect(Math.abs(dot - (i === j ? 1 : 0))).toBeLessThan(2e-15);
          }
        for (let k = 0; k < 12; k++) expect(Math.abs(out[k]! - exact[k]!)).toBeLessThan(2e-7);
      }),
      { seed: 11, numRuns: 200 },
    );
  });

  it("leaves a true rotation as it is, to rounding", () => {
    const m = pose();
    const before = [...m];
    expect(makeRigid("pose", m)).toBeUndefined();
    for (let k = 0; k < 16; k++) expect(Math.abs(m[k]! - before[k]!)).toBeLessThan(1e-15);
  });

  it("refuses what is no rigid transform", () => {
    const scaled = pose();
    scaled[0]! *= 1 + 2 * RIGID_TOLERANCE;
    scaled[4]! *= 1 + 2 * RIGID_TOLERANCE;
    scaled[8]! *= 1 + 2 * RIGID_TOLERANCE;
    expect(makeRigid("pose", scaled)?.found).toMatch(/^pose whose rotation is off by/);
    const mirrored = pose();
    for (const k of [0, 4, 8]) mirrored[k]! *= -1;
    expect(makeRigid("pose", mirrored)?.found).toBe("pose whose rotation is left-handed");
    const sheared = pose();
    sheared[1]! += 0.01;
    expect(makeRigid("pose", sheared)?.found).toMatch(/off by 0\.0/);
    const projective = pose();
    projective[12] = 0.1;
    expect(makeRigid("pose", projective)?.found).toBe("pose whose last row is 0.1 0 0 1");
    expect(makeRigid("pose", new Float64Array(16))?.found).toMatch(/last row/);
    const zero = new Float64Array(16);
    zero[15] = 1;
    expect(makeRigid("pose", zero)?.found).toBe("pose whose rotation is off by 1");
    const huge = pose();
    huge[0] = 1e200;
    huge[1] = -1e200;
    expect(makeRigid("pose", huge)?.found).toMatch(/off by/);
  });

  it("writes numbers that read back the same", () => {
    fc.assert(
      fc.property(fc.float64Array({ noNaN: true, noDefaultInfinity: true }), (values) => {
        const back = JSON.parse(jsonNumbers(values)!) as number[];
        expect(back).toHaveLength(values.length);
        for (const [i, value] of back.entries()) expect(value === values[i]).toBe(true);
      }),
      { seed: 3 },
    );
    expect(jsonNumbers(Float64Array.of(1, Number.NaN))).toBeUndefined();
    expect(jsonNumbers(Float64Array.of(Number.POSITIVE_INFINITY))).toBeUndefined();
  });
});
