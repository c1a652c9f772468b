/**
 * A line (point p, unit direction l) as 15 numbers on which every rigid motion acts linearly:
 *
 *   1, p·p, p·l, p, l, p × l, (p·p) l - 2 (p·l) p
 *
 * These are the 14 functions of Raghavan & Roth (1990) and the constant. Because the action is linear, a turn by q about a
 * given axis is A + B cos q + C sin q, and the equations of a six-axis arm are multilinear in the sines and cosines.
 */

/** Numbers per line. */
export const LINE = 15;

/** Writes the 15 numbers of a line to out[at…]. */
export function lineNumbers(
  px: number,
  py: number,
  pz: number,
  lx: number,
  ly: number,
  lz: number,
  out: Float64Array,
  at: number,
): void {
  const pp = px * px + py * py + pz * pz,
    pl = px * lx + py * ly + pz * lz;
  out[at] = 1;
  out[at + 1] = pp;
  out[at + 2] = pl;
  out[at + 3] = px;
  out[at + 4] = py;
  out[at + 5] = pz;
  out[at + 6] = lx;
  out[at + 7] = ly;
  out[at + 8] = lz;
  out[at + 9] = py * lz - pz * ly;
  out[at + 10] = pz * lx - px * lz;
  out[at + 11] = px * ly - py * lx;
  out[at + 12] = pp * lx - 2 * pl * px;
  out[at + 13] = pp * ly - 2 * pl * py;
  out[at + 14] = pp * lz - 2 * pl * pz;
}

/** Moves the numbers at v[at…] by the translation a·sign, in place. */
function translate(v: Float64Array, at: number, a: Float64Array, ai: number, sign: number): void {
  const x = sign * a[ai]!,
    y = sign * a[ai + 1]!,
    z = sign * a[ai + 2]!;
  const one = v[at]!,
    pl = v[at + 2]!;
  const px = v[at + 3]!,
    py = v[at + 4]!,
    pz = v[at + 5]!,
    lx = v[at + 6]!,
    ly = v[at + 7]!,
    lz = v[at + 8]!,
    mx = v[at + 9]!,
    my = v[at + 10]!,
    mz = v[at + 11]!;
  const aa = x * x + y * y + z * z,
    al = x * lx + y * ly + z * lz;
  v[at + 1]! += 2 * (x * px + y * py + z * pz) + aa * one;
  v[at + 2] = pl + al;
  v[at + 3] = px + x * one;
  v[at + 4] = py + y * one;
  v[at + 5] = pz + z * one;
  v[at + 9] = mx + y * lz - z * ly;
  v[at + 10] = my + z * lx - x * lz;
  v[at + 11] = mz + x * ly - y * lx;
  const k = 2 * (pl + al);
  v[at + 12]! += -2 * (y * mz - z * my) + aa * lx - k * x;
  v[at + 13]! += -2 * (z * mx - x * mz) + aa * ly - k * y;
  v[at + 14]! += -2 * (x * my - y * mx) + aa * lz - k * z;
}

const moved = new Float64Array(LINE);

/**
 * The constant, cosine and sine part of a turn about axis (h, p)[i] applied to the numbers at from[at…], written one after the
 * other to out[to…] (3 x 15).
 * @param sense 1 for a turn by q, -1 for a turn by -q
 */
export function turnParts(
  h: Float64Array,
  p: Float64Array,
  i: number,
  sense: number,
  from: Float64Array,
  at: number,
  out: Float64Array,
  to: number,
): void {
  for (let k = 0; k < LINE; k++) moved[k] = from[at + k]!;
  translate(moved, 0, p, i, -1);
  const hx = h[i]!,
    hy = h[i + 1]!,
    hz = h[i + 2]!;
  const c = to + LINE,
    s = to + 2 * LINE;
  for (let k = 0; k < 3; k++) {
    out[to + k] = moved[k]!;
    out[c + k] = out[s + k] = 0;
  }
  for (let k = 3; k < LINE; k += 3) {
    const x = moved[k]!,
      y = moved[k + 1]!,
      z = moved[k + 2]!;
    const along = hx * x + hy * y + hz * z;
    out[to + k] = along * hx;
    out[to + k + 1] = along * hy;
    out[to + k + 2] = along * hz;
    out[c + k] = x - along * hx;
    out[c + k + 1] = y - along * hy;
    out[c + k + 2] = z - along * hz;
    out[s + k] = sense * (hy * z - hz * y);
    out[s + k + 1] = sense * (hz * x - hx * z);
    out[s + k + 2] = sense * (hx * y - hy * x);
  }
  translate(out, to, p, i, 1);
  translate(out, c, p, i, 1);
  translate(out, s, p, i, 1);
}
