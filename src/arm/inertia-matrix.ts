/** Joint-space inertia matrix by composite bodies (Walker & Orin 1982), in chain frames. */
import { BODY_STRIDE } from "./bodies.ts";
import type { Arm } from "./model.ts";

/**
 * A function that writes M(q), row-major n x n, from the links' bodies; `last` is the offset of the last link's numbers
 * (which may hold the payload too).
 */
export function compositeInertia(
  arm: Arm,
): (q: ArrayLike<number>, bodies: Float64Array, last: number, out: Float64Array) => Float64Array {
  const { n, chain, prismatic, motorInertia } = arm;
  /** Rotation (9) and translation (3) of each chain frame in the one before. */
  const steps = new Float64Array(12 * n);
  const outer = new Float64Array(BODY_STRIDE);
  const v = new Float64Array(6);

  return (q, bodies, last, out) => {
    for (let i = 1; i < n; i++) writeStep(i, q[i]!);
    for (let k = 0; k < BODY_STRIDE; k++) outer[k] = bodies[last + k]!;
    for (let i = n - 1; i >= 0; i--) {
      // Force and moment of everything from link i + 1 outward for a unit acceleration of joint i alone.
      const m = outer[0]!,
        hx = outer[1]!,
        hy = outer[2]!;
      const slides = prismatic[i] === 1;
      v[0] = slides ? 0 : -hy;
      v[1] = slides ? 0 : hx;
      v[2] = slides ? m : 0;
      v[3] = slides ? hy : -outer[8]!;
      v[4] = slides ? -hx : -outer[9]!;
      v[5] = slides ? 0 : outer[4]! + outer[5]!;
      out[i * n + i] = (slides ? v[2]! : v[5]!) + motorInertia[i]!;
      for (let j = i; j > 0; j--) {
        carryForce(12 * j);
        out[i * n + j - 1] = out[(j - 1) * n + i] = prismatic[j - 1] === 1 ? v[2]! : v[5]!;
      }
      if (i > 0) absorb(12 * i, bodies, BODY_STRIDE * (i - 1));
    }
    return out;
  };

  function writeStep(i: number, value: number): void {
    const at = 6 * i,
      to = 12 * i;
    const ca = chain[at]!,
      sa = chain[at + 1]!;
    const slide = prismatic[i] === 1 ? value : 0;
    const angle = chain[at + 5]! + (prismatic[i] === 1 ? 0 : value);
    const c = Math.cos(angle),
      s = Math.sin(angle);
    steps[to] = c;
    steps[to + 1] = -s;
    steps[to + 2] = 0;
    steps[to + 3] = ca * s;
    steps[to + 4] = ca * c;
    steps[to + 5] = -sa;
    steps[to + 6] = sa * s;
    steps[to + 7] = sa * c;
    steps[to + 8] = ca;
    steps[to + 9] = chain[at + 2]!;
    steps[to + 10] = chain[at + 3]! - slide * sa;
    steps[to + 11] = chain[at + 4]! + slide * ca;
  }

  /** Force and moment `v` restated in the frame before. */
  function carryForce(t: number): void {
    const row = (r: number, k: number) =>
      steps[t + 3 * r]! * v[k]! + steps[t + 3 * r + 1]! * v[k + 1]! + steps[t + 3 * r + 2]! * v[k + 2]!;
    const fx = row(0, 0),
      fy = row(1, 0),
      fz = row(2, 0),
      nx = row(0, 3),
      ny = row(1, 3),
      nz = row(2, 3);
    const px = steps[t + 9]!,
      py = steps[t + 10]!,
      pz = steps[t + 11]!;
    v[0] = fx;
    v[1] = fy;
    v[2] = fz;
    v[3] = nx + py * fz - pz * fy;
    v[4] = ny + pz * fx - px * fz;
    v[5] = nz + px * fy - py * fx;
  }

  /** The composite body restated in the frame before and joined with that frame's own link. */
  function absorb(t: number, bodies: Float64Array, b: number): void {
    const m = outer[0]!,
      x = outer[1]!,
      y = outer[2]!,
      z = outer[3]!;
    const sxx = outer[4]!,
      syy = outer[5]!,
      szz = outer[6]!,
      sxy = outer[7]!,
      sxz = outer[8]!,
      syz = outer[9]!;
    const h = (r: number) => steps[t + 3 * r]! * x + steps[t + 3 * r + 1]! * y + steps[t + 3 * r + 2]! * z;
    const h0 = h(0),
      h1 = h(1),
      h2 = h(2);
    const p0 = steps[t + 9]!,
      p1 = steps[t + 10]!,
      p2 = steps[t + 11]!;
    // ∫ (p + R·r)(p + R·r)ᵀ dm
    const second = (a: number, b1: number, pa: number, pb: number, ha: number, hb: number) => {
      const a0 = steps[t + 3 * a]!,
        a1 = steps[t + 3 * a + 1]!,
        a2 = steps[t + 3 * a + 2]!;
      const c0 = steps[t + 3 * b1]!,
        c1 = steps[t + 3 * b1 + 1]!,
        c2 = steps[t + 3 * b1 + 2]!;
      const turned =
        a0 * (sxx * c0 + sxy * c1 + sxz * c2) +
        a1 * (sxy * c0 + syy * c1 + syz * c2) +
        a2 * (sxz * c0 + syz * c1 + szz * c2);
      return turned + pa * hb + ha * pb + m * pa * pb;
    };
    outer[4] = second(0, 0, p0, p0, h0, h0) + bodies[b + 4]!;
    outer[5] = second(1, 1, p1, p1, h1, h1) + bodies[b + 5]!;
    outer[6] = second(2, 2, p2, p2, h2, h2) + bodies[b + 6]!;
    outer[7] = second(0, 1, p0, p1, h0, h1) + bodies[b + 7]!;
    outer[8] = second(0, 2, p0, p2, h0, h2) + bodies[b + 8]!;
    outer[9] = second(1, 2, p1, p2, h1, h2) + bodies[b + 9]!;
    outer[1] = h0 + m * p0 + bodies[b + 1]!;
    outer[2] = h1 + m * p1 + bodies[b + 2]!;
    outer[3] = h2 + m * p2 + bodies[b + 3]!;
    outer[0] = m + bodies[b]!;
  }
}
