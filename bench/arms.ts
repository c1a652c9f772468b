/** The arms of the benchmarks, as standard DH tables with link masses. Both are invented. */
import type { InertiaDescription } from "../src/cell/arm-description.ts";
import type { TableRow } from "../test/arms/describe.ts";

const right = Math.PI / 2;

/** A solid rod of a link: mass, centre, and radii of gyration along x, y, z. */
const body = (
  mass: number,
  centre: readonly [number, number, number],
  gyration: readonly [number, number, number],
): InertiaDescription => ({
  mass,
  centre,
  tensor: [mass * gyration[0] ** 2, mass * gyration[1] ** 2, mass * gyration[2] ** 2, 0, 0, 0],
});

/** Three parallel axes and an offset wrist: the arm of the reference scene, with plausible masses. */
export const offsetWrist: readonly TableRow[] = [
  { a: 0, alpha: right, d: 0.16, inertia: body(4.2, [0, -0.03, 0.01], [0.07, 0.06, 0.07]) },
  { a: -0.43, alpha: 0, d: 0, inertia: body(9.1, [0.22, 0, 0.12], [0.06, 0.16, 0.16]) },
  { a: -0.39, alpha: 0, d: 0, inertia: body(3.4, [0.2, 0, 0.03], [0.04, 0.14, 0.14]) },
  { a: 0, alpha: right, d: 0.13, inertia: body(1.5, [0, -0.01, 0.02], [0.04, 0.03, 0.04]) },
  { a: 0, alpha: -right, d: 0.1, inertia: body(1.5, [0, 0.01, 0.02], [0.04, 0.03, 0.04]) },
  { a: 0, alpha: 0, d: 0.09, inertia: body(0.4, [0, 0, -0.03], [0.03, 0.03, 0.03]) },
];

/** Spherical wrist, 12 kg class. */
export const sphericalWrist: readonly TableRow[] = [
  { a: 0.15, alpha: -right, d: 0.45, inertia: body(38, [-0.1, 0.11, 0.03], [0.16, 0.14, 0.15]) },
  { a: 0.58, alpha: 0, d: 0, theta: -right, inertia: body(26, [-0.3, 0.01, -0.11], [0.08, 0.22, 0.21]) },
  { a: 0.2, alpha: -right, d: 0, inertia: body(21, [-0.15, 0.02, 0.05], [0.1, 0.11, 0.1]) },
  { a: 0, alpha: right, d: 0.64, inertia: body(9, [0, -0.27, 0], [0.17, 0.05, 0.17]) },
  { a: 0, alpha: -right, d: 0, inertia: body(3.1, [0, 0.02, 0.01], [0.05, 0.04, 0.05]) },
  { a: 0, alpha: 0, d: 0.1, inertia: body(0.7, [0, 0, -0.02], [0.03, 0.03, 0.04]) },
];
