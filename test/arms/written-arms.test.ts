/**
 * Inverse kinematics of arms as they are written down: modified joint tables, URDF text, and URDF text with its numbers
 * rounded to six decimals, so that axes meant to meet or to be parallel do so only nearly.
 */
import { describe, expect, test } from "vitest";
import { type Arm, buildArm, createInverse, forwardKinematics } from "../../src/arm/index.ts";
import type { ArmDescription } from "../../src/cell/arm-description.ts";
import { readUrdf } from "../../src/exchange/index.ts";
import { describeDh, type TableRow } from "./describe.ts";
import { mulberry32, randomInertia } from "./random.ts";
import { urdfText } from "./urdf-text.ts";

const right = Math.PI / 2;

const wrapped = (d: number) => Math.abs(Math.atan2(Math.sin(d), Math.cos(d)));
const apart = (a: ArrayLike<number>, b: ArrayLike<number>) => Math.max(...Array.from(a, (x, k) => wrapped(x - b[k]!)));

/** Modified tables: row i places axis i from axis i-1 by a, alpha, then d, theta. */
const tables: Record<string, (random: () => number) => TableRow[]> = {
  "a spherical wrist": (random) => {
    const l = () => 0.1 + 0.4 * random();
    return [
      { a: 0, alpha: 0, d: l() },
      { a: l() - 0.3, alpha: -right, d: 0 },
      { a: l(), alpha: 0, d: l() - 0.3 },
      { a: l() - 0.3, alpha: -right, d: l() },
      { a: 0, alpha: right, d: 0 },
      { a: 0, alpha: -right, d: 0 },
    ];
  },
  "three parallel axes and an offset wrist": (random) => {
    const l = () => 0.1 + 0.4 * random();
    return [
      { a: 0, alpha: 0, d: l() },
      { a: 0, alpha: right, d: 0 },
      { a: l(), alpha: 0, d: 0 },
      { a: l(), alpha: 0, d: l() },
      { a: 0, alpha: right, d: l() },
      { a: 0, alpha: -right, d: l() },
    ];
  },
  "no structure": (random) =>
    Array.from({ length: 6 }, () => ({ a: random() - 0.5, alpha: 3 * (2 * random() - 1), d: random() - 0.5 })),
};

/** FK(IK(p)) = p to 1e-9, all branches distinct, the joint values that made p among them; branches by pose. */
function branches(arm: Arm, states: readonly Float64Array[]): number[] {
  const inverse = createInverse(arm);
  const result = inverse.result();
  const pose = new Float64Array(16);
  const again = new Float64Array(16);
  return states.map((q) => {
    forwardKinematics(arm, q, pose);
    inverse.solve(pose, result);
    expect(result.exact).toBe(true);
    const rows = Array.from({ length: result.count }, (_, s) => result.q.slice(6 * s, 6 * s + 6));
    for (const [i, row] of rows.entries()) {
      forwardKinematics(arm, row, again);
      for (let k = 0; k < 12; k++) expect(Math.abs(again[k]! - pose[k]!)).toBeLessThan(1e-9);
      for (let j = 0; j < i; j++) expect(apart(row, rows[j]!)).toBeGreaterThan(9e-7);
    }
    expect(Math.min(...rows.map((row) => apart(row, q)))).toBeLessThan(1e-6);
    return rows.length;
  });
}

function read(text: string): Arm {
  const outcome = readUrdf(text, "arm.urdf");
  if (!outcome.ok) throw new Error(JSON.stringify(outcome.issues));
  return buildArm(outcome.value);
}

const rounded = (text: string) =>
  text.replace(/(?<=origin )xyz="([^"]*)" rpy="([^"]*)"/g, (_, xyz: string, rpy: string) => {
    const six = (list: string) =>
      list
        .split(" ")
        .map((x) => Number(x).toFixed(6))
        .join(" ");
    return `xyz="${six(xyz)}" rpy="${six(rpy)}"`;
  });

describe.each(Object.entries(tables))("%s", (name, table) => {
  const random = mulberry32(51);
  const cases = Array.from({ length: 8 }, () => {
    const rows = table(random).map((row) => ({ ...row, theta: 6 * random() - 3, inertia: randomInertia(random) }));
    const description: ArmDescription = describeDh(name, rows, "modified");
    const states = Array.from({ length: 12 }, () =>
      Float64Array.from({ length: 6 }, () => Math.PI * (2 * random() - 1)),
    );
    return { description, text: urdfText(description, random), states };
  });

  test("as a modified joint table and as URDF: the same branches", () => {
    for (const { description, text, states } of cases)
      expect(branches(read(text), states)).toEqual(branches(buildArm(description), states));
  });

  test("as URDF with numbers of six decimals", () => {
    let same = 0;
    let all = 0;
    for (const { description, text, states } of cases) {
      const exact = branches(buildArm(description), states);
      branches(read(rounded(text)), states).forEach((count, i) => {
        all++;
        if (count === exact[i]) same++;
      });
    }
    // Two branches that meet at a pose may part or vanish when the geometry changes by a micrometre; seldom.
    expect(same).toBeGreaterThanOrEqual(all - 2);
  });
});
