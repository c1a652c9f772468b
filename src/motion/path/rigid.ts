/** Largest departure of a rotation from orthonormal that still counts as rounding of printed numbers. */
const TOLERANCE = 1e-4;

/** Whether 16 numbers are a rigid transform: orthonormal to 1e-4, right-handed, last row 0 0 0 1. */
export function isRigid(t: ArrayLike<number>): boolean {
  for (let a = 0; a < 3; a++)
    for (let b = 0; b <= a; b++) {
      const dot = t[a] * t[b] + t[4 + a] * t[4 + b] + t[8 + a] * t[8 + b];
      if (Math.abs(dot - (a === b ? 1 : 0)) > TOLERANCE) return false;
    }
  const determinant =
    t[0] * (t[5] * t[10] - t[6] * t[9]) - t[1] * (t[4] * t[10] - t[6] * t[8]) + t[2] * (t[4] * t[9] - t[5] * t[8]);
  return determinant > 0 && t[12] === 0 && t[13] === 0 && t[14] === 0 && t[15] === 1;
}
