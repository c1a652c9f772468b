/** Reading the fields of JSON Lines records: arrays of joint values and poses, and writing arrays of numbers. */
import { excerpt, type LineProblem } from "./json-lines.ts";

/**
 * Largest deviation of RᵀR from the identity, entry by entry, at which a matrix still counts as a rigid transform
 * written with few decimals. Its rotation is then replaced by the nearest true one.
 */
export const RIGID_TOLERANCE = 1e-6;

/** Describes what was found in place of a value. */
export function describe(value: unknown): string {
  if (value === undefined) return "nothing";
  return excerpt(JSON.stringify(value) ?? String(value));
}

/** Copies `length` finite numbers into `out`; undefined when they are, else the problem. `shape` says what they are. */
export function readNumbers(
  record: Readonly<Record<string, unknown>>,
  key: string,
  out: Float64Array,
  shape: string,
): LineProblem | undefined {
  const value = record[key];
  const length = out.length;
  if (!Array.isArray(value)) {
    return { found: `${key}: ${describe(value)}`, expected: `"${key}" with ${length} numbers (${shape})` };
  }
  if (value.length !== length) {
    return { found: `${key} with ${value.length} entries`, expected: `${length} numbers (${shape})` };
  }
  for (let i = 0; i < length; i++) {
    const entry: unknown = value[i];
    if (typeof entry !== "number" || !Number.isFinite(entry)) {
      return { found: `${key}[${i}]: ${describe(entry)}`, expected: "a finite number" };
    }
    out[i] = entry;
  }
  return undefined;
}

/**
 * Reads a row-major homogeneous transform of 16 numbers and checks that it is rigid: last row 0 0 0 1, rotation
 * orthonormal to RIGID_TOLERANCE and right-handed. The rotation written to `out` is the nearest true rotation (polar
 * factor by Newton's iteration, Higham, SIAM J. Sci. Stat. Comput. 1986, from memory).
 */
export function readRigidPose(
  record: Readonly<Record<string, unknown>>,
  key: string,
  out: Float64Array,
): LineProblem | undefined {
  const problem = readNumbers(record, key, out, "row-major 4 × 4 transform, metres");
  if (problem !== undefined) return problem;
  return makeRigid(key, out);
}

/** Checks and straightens a transform in place, see readRigidPose. */
export function makeRigid(name: string, m: Float64Array): LineProblem | undefined {
  const expected = `a rigid transform (last row 0 0 0 1, rotation orthonormal to ${RIGID_TOLERANCE}, right-handed)`;
  const lastRow = Math.max(Math.abs(m[12]!), Math.abs(m[13]!), Math.abs(m[14]!), Math.abs(m[15]! - 1));
  if (lastRow > RIGID_TOLERANCE) return { found: `${name} whose last row is ${m.subarray(12).join(" ")}`, expected };
  const error = orthonormalError(m);
  if (!(error <= RIGID_TOLERANCE)) {
    return { found: `${name} whose rotation is off by ${Number(error.toPrecision(3))}`, expected };
  }
  if (determinant(m) < 0) return { found: `${name} whose rotation is left-handed`, expected };
  for (let pass = 0; pass < 3 && orthonormalError(m) > 1e-15; pass++) halfWayToRotation(m);
  m[12] = m[13] = m[14] = 0;
  m[15] = 1;
  return undefined;
}

/** Largest entry of |RᵀR − I|. */
function orthonormalError(m: Float64Array): number {
  let worst = 0;
  for (let i = 0; i < 3; i++) {
    for (let j = i; j < 3; j++) {
      const dot = m[i]! * m[j]! + m[4 + i]! * m[4 + j]! + m[8 + i]! * m[8 + j]!;
      const off = Math.abs(dot - (i === j ? 1 : 0));
      if (Number.isNaN(off)) return Infinity;
      if (off > worst) worst = off;
    }
  }
  return worst;
}

function determinant(m: Float64Array): number {
  return (
    m[0]! * (m[5]! * m[10]! - m[6]! * m[9]!) -
    m[1]! * (m[4]! * m[10]! - m[6]! * m[8]!) +
    m[2]! * (m[4]! * m[9]! - m[5]! * m[8]!)
  );
}

/** R ← (R + R⁻ᵀ) / 2; R⁻ᵀ is the matrix of cofactors over the determinant. */
function halfWayToRotation(m: Float64Array): void {
  const d = determinant(m);
  const [a, b, c, e, f, g, i, j, k] = [m[0]!, m[1]!, m[2]!, m[4]!, m[5]!, m[6]!, m[8]!, m[9]!, m[10]!];
  m[0] = (a + (f * k - g * j) / d) / 2;
  m[1] = (b + (g * i - e * k) / d) / 2;
  m[2] = (c + (e * j - f * i) / d) / 2;
  m[4] = (e + (c * j - b * k) / d) / 2;
  m[5] = (f + (a * k - c * i) / d) / 2;
  m[6] = (g + (b * i - a * j) / d) / 2;
  m[8] = (i + (b * g - c * f) / d) / 2;
  m[9] = (j + (c * e - a * g) / d) / 2;
  m[10] = (k + (a * f - b * e) / d) / 2;
}

/** Numbers as a JSON array in shortest exact form; undefined when one of them is not finite. */
export function jsonNumbers(values: Float64Array): string | undefined {
  for (let i = 0; i < values.length; i++) if (!Number.isFinite(values[i]!)) return undefined;
  return `[${values.join(",")}]`;
}
