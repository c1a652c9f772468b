/**
 * Reference laws s = g(u), u in [0, 1]: polynomials that leave a rest like the jerk-limited optimum does (s ~ u³, so that
 * u̇ stays finite and away from zero at rest) and pass a moving end with g' > 0.
 */
export interface ReferenceLaw {
  /** Coefficients of g, constant first, degree 5. */
  readonly g: Float64Array;
}

/** Law from s0 to s1; `restStart`, `restEnd` say at which ends the motion is at rest. */
export function referenceLaw(s0: number, s1: number, restStart: boolean, restEnd: boolean): ReferenceLaw {
  const d = s1 - s0;
  const shape =
    restStart && restEnd
      ? [0, 0, 10, -15, 6]
      : restStart
        ? [0, 0, 1, 0, 0]
        : restEnd
          ? [3, -3, 1, 0, 0]
          : [1, 0, 0, 0, 0];
  return { g: Float64Array.from([s0, ...shape.map((k) => k * d)]) };
}

/** g and its first three derivatives at u into out[0..3]. */
export function referenceAt(law: ReferenceLaw, u: number, out: Float64Array): void {
  const g = law.g;
  const a1 = g[1]!;
  const a2 = g[2]!;
  const a3 = g[3]!;
  const a4 = g[4]!;
  const a5 = g[5]!;
  out[0] = g[0]! + u * (a1 + u * (a2 + u * (a3 + u * (a4 + u * a5))));
  out[1] = a1 + u * (2 * a2 + u * (3 * a3 + u * (4 * a4 + u * 5 * a5)));
  out[2] = 2 * a2 + u * (6 * a3 + u * (12 * a4 + u * 20 * a5));
  out[3] = 6 * a3 + u * (24 * a4 + u * 60 * a5);
}

const work = new Float64Array(4);

/** The u in [0, 1] with g(u) = s; g increases. */
export function invertReference(law: ReferenceLaw, s: number): number {
  let low = 0;
  let high = 1;
  referenceAt(law, 1, work);
  const total = work[0]! - law.g[0]!;
  let u = total > 0 ? Math.min(1, Math.max(0, (s - law.g[0]!) / total)) : 0;
  for (let i = 0; i < 100; i++) {
    referenceAt(law, u, work);
    const miss = work[0]! - s;
    if (miss > 0) high = u;
    else low = u;
    let next = work[1]! > 0 ? u - miss / work[1]! : (low + high) / 2;
    if (!(next > low && next < high)) next = (low + high) / 2;
    if (Math.abs(next - u) <= 4e-16 || next === u) return next;
    u = next;
  }
  return u;
}
