/** Placements as the kernels hold them: row-major 3 x 4 transforms inside larger arrays (a 4 x 4 pose begins with one). */

/** The placement of A in the frame of B: invert(B)·A, written to `out` (12). */
export function relative(pa: Float64Array, ia: number, pb: Float64Array, ib: number, out: Float64Array): void {
  const dx = pa[ia + 3]! - pb[ib + 3]!,
    dy = pa[ia + 7]! - pb[ib + 7]!,
    dz = pa[ia + 11]! - pb[ib + 11]!;
  const a0 = pa[ia]!,
    a1 = pa[ia + 1]!,
    a2 = pa[ia + 2]!,
    a4 = pa[ia + 4]!,
    a5 = pa[ia + 5]!,
    a6 = pa[ia + 6]!,
    a8 = pa[ia + 8]!,
    a9 = pa[ia + 9]!,
    a10 = pa[ia + 10]!;
  for (let c = 0; c < 3; c++) {
    const x = pb[ib + c]!,
      y = pb[ib + 4 + c]!,
      z = pb[ib + 8 + c]!;
    const r = 4 * c;
    out[r] = x * a0 + y * a4 + z * a8;
    out[r + 1] = x * a1 + y * a5 + z * a9;
    out[r + 2] = x * a2 + y * a6 + z * a10;
    out[r + 3] = x * dx + y * dy + z * dz;
  }
}

/** Product of two placements; the destination must not overlap the sources. */
export function multiply(
  a: Float64Array,
  ia: number,
  b: Float64Array,
  ib: number,
  out: Float64Array,
  io: number,
): void {
  const b0 = b[ib]!,
    b1 = b[ib + 1]!,
    b2 = b[ib + 2]!,
    b3 = b[ib + 3]!,
    b4 = b[ib + 4]!,
    b5 = b[ib + 5]!,
    b6 = b[ib + 6]!,
    b7 = b[ib + 7]!,
    b8 = b[ib + 8]!,
    b9 = b[ib + 9]!,
    b10 = b[ib + 10]!,
    b11 = b[ib + 11]!;
  for (let r = 0; r < 12; r += 4) {
    const x = a[ia + r]!,
      y = a[ia + r + 1]!,
      z = a[ia + r + 2]!;
    out[io + r] = x * b0 + y * b4 + z * b8;
    out[io + r + 1] = x * b1 + y * b5 + z * b9;
    out[io + r + 2] = x * b2 + y * b6 + z * b10;
    out[io + r + 3] = x * b3 + y * b7 + z * b11 + a[ia + r + 3]!;
  }
}
