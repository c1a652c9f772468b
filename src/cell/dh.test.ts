import fc from "fast-check";
import { expect, test } from "vitest";
import { ContractError } from "../math/contract-error.ts";
import {
  angleBetween,
  compose,
  distanceBetween,
  identityPose,
  type Pose,
  rotationAbout,
  translation,
} from "../math/pose.ts";
import { type DhRow, jointsFromDh, modifiedStep, standardStep } from "./dh.ts";

const seed = 20240612;
const length = fc.double({ min: -1, max: 1, noNaN: true });
const angle = fc.double({ min: -4, max: 4, noNaN: true });
const row = fc.record({
  kind: fc.constantFrom("revolute" as const, "prismatic" as const),
  a: length,
  alpha: angle,
  d: length,
  theta: angle,
});
const table = fc.array(row, { minLength: 1, maxLength: 7 });

const x = [1, 0, 0];
const z = [0, 0, 1];
const product = (...poses: Pose[]) => poses.reduce((a, b) => compose(a, b), identityPose());
const at = ({ kind, a, alpha, d, theta }: DhRow, q: number) => ({
  a,
  alpha,
  d: kind === "prismatic" ? d + q : d,
  theta: kind === "revolute" ? theta + q : theta,
});
const near = (a: Pose, b: Pose) => distanceBetween(a, b) < 1e-12 && angleBetween(a, b) < 1e-12;

/** Product of the placements with the joints moved: what ArmDescription means. */
function walk(rows: readonly DhRow[], convention: "standard" | "modified", q: readonly number[]) {
  const placement = jointsFromDh(rows, convention);
  const frames = [identityPose()];
  placement.joints.forEach((joint, i) => {
    const motion = joint.kind === "revolute" ? rotationAbout(joint.axis, q[i]!) : translation(0, 0, q[i]!);
    frames.push(product(frames[i]!, joint.parentFromJoint, motion));
  });
  return { placement, frames, flange: product(frames.at(-1)!, placement.lastFromFlange) };
}

test("one row is the product of its four elementary moves", () => {
  fc.assert(
    fc.property(row, (r) => {
      const turn = rotationAbout(z, r.theta);
      const twist = rotationAbout(x, r.alpha);
      const along = translation(r.a, 0, 0);
      const up = translation(0, 0, r.d);
      return (
        near(standardStep(r), product(turn, up, along, twist)) && near(modifiedStep(r), product(twist, along, turn, up))
      );
    }),
    { seed },
  );
});

test.each(["standard", "modified"] as const)(
  "placements of a %s table give the naive product of its rows",
  (convention) => {
    const step = convention === "standard" ? standardStep : modifiedStep;
    fc.assert(
      fc.property(table, fc.array(angle, { minLength: 7, maxLength: 7 }), (rows, q) => {
        const { placement, frames, flange } = walk(rows, convention, q);
        const steps = rows.map((r, i) => step(at(r, q[i]!)));
        expect(near(flange, product(...steps))).toBe(true);
        // Every DH link frame is where ownerFromDh says.
        for (let i = 0; i <= rows.length; i++)
          expect(near(compose(frames[i]!, placement.ownerFromDh[i]!), product(...steps.slice(0, i)))).toBe(true);
      }),
      { seed },
    );
  },
);

test("the same arm in both conventions has the same flange", () => {
  fc.assert(
    fc.property(table, fc.array(angle, { minLength: 7, maxLength: 7 }), (rows, q) => {
      // Modified row i has the a and alpha of standard row i - 1; the last link's a and alpha are left for the flange.
      const shifted = rows.map((r, i) => ({
        ...r,
        a: i === 0 ? 0 : rows[i - 1]!.a,
        alpha: i === 0 ? 0 : rows[i - 1]!.alpha,
      }));
      const last = rows.at(-1)!;
      const flange = product(
        walk(shifted, "modified", q).flange,
        translation(last.a, 0, 0),
        rotationAbout(x, last.alpha),
      );
      return near(walk(rows, "standard", q).flange, flange);
    }),
    { seed },
  );
});

test("right angles are exact", () => {
  const step = standardStep({ a: 0, alpha: -Math.PI / 2, d: 0, theta: Math.PI });
  expect([...step.subarray(0, 12)].every((v) => v === 0 || Math.abs(v) === 1)).toBe(true);
});

test("a number that is not finite is refused", () => {
  expect(() => jointsFromDh([{ kind: "revolute", a: Number.NaN, alpha: 0, d: 0, theta: 0 }], "standard")).toThrow(
    new ContractError("jointsFromDh: rows[0].a must be finite, got NaN"),
  );
});
