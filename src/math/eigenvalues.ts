/**
 * Eigenvalues of a real general matrix: balancing (Parlett & Reinsch 1969), reduction to Hessenberg form by elimination with
 * pivoting, and the double-shift QR iteration (Francis 1961; Martin, Peters & Wilkinson 1970). Work grows as about 10 n³.
 */

const EPS = 2 ** -52;
const SWEEPS = 60;

/**
 * @param a row-major n x n, destroyed
 * @param re real parts, length >= n   @param im imaginary parts; conjugate pairs stand side by side
 * @returns false when an eigenvalue did not converge in 60 sweeps (the values written are then not to be used)
 */
export function eigenvalues(a: Float64Array, n: number, re: Float64Array, im: Float64Array): boolean {
  balance(a, n);
  toHessenberg(a, n);
  return francis(a, n, re, im);
}

/** Scales rows and columns by powers of two so that their norms are alike; eigenvalues stay exactly the same. */
function balance(a: Float64Array, n: number): void {
  for (let done = false; !done; ) {
    done = true;
    for (let i = 0; i < n; i++) {
      let column = 0,
        row = 0;
      for (let j = 0; j < n; j++) {
        if (j === i) continue;
        column += Math.abs(a[j * n + i]!);
        row += Math.abs(a[i * n + j]!);
      }
      if (column === 0 || row === 0) continue;
      const sum = column + row;
      let f = 1;
      while (column < row / 2) {
        f *= 2;
        column *= 4;
      }
      while (column > row * 2) {
        f /= 2;
        column /= 4;
      }
      if ((column + row) / f < 0.95 * sum) {
        done = false;
        for (let j = 0; j < n; j++) a[i * n + j]! /= f;
        for (let j = 0; j < n; j++) a[j * n + i]! *= f;
      }
    }
  }
}

function toHessenberg(a: Float64Array, n: number): void {
  for (let m = 1; m < n - 1; m++) {
    let pivot = m;
    let x = 0;
    for (let i = m; i < n; i++) {
      if (Math.abs(a[i * n + m - 1]!) > Math.abs(x)) {
        x = a[i * n + m - 1]!;
        pivot = i;
      }
    }
    if (pivot !== m) {
      for (let j = m - 1; j < n; j++) swap(a, pivot * n + j, m * n + j);
      for (let j = 0; j < n; j++) swap(a, j * n + pivot, j * n + m);
    }
    if (x === 0) continue;
    for (let i = m + 1; i < n; i++) {
      let y = a[i * n + m - 1]!;
      if (y === 0) continue;
      y /= x;
      a[i * n + m - 1] = 0;
      for (let j = m; j < n; j++) a[i * n + j]! -= y * a[m * n + j]!;
      for (let j = 0; j < n; j++) a[j * n + m]! += y * a[j * n + i]!;
    }
  }
}

function swap(a: Float64Array, i: number, j: number): void {
  const t = a[i]!;
  a[i] = a[j]!;
  a[j] = t;
}

/** Double-shift QR on an upper Hessenberg matrix; only the active block is transformed, as no vectors are wanted. */
function francis(a: Float64Array, n: number, re: Float64Array, im: Float64Array): boolean {
  let norm = 0;
  for (let i = 0; i < n; i++) for (let j = Math.max(0, i - 1); j < n; j++) norm += Math.abs(a[i * n + j]!);
  let high = n - 1;
  let shifted = 0;
  let sweeps = 0;
  while (high >= 0) {
    // A negligible subdiagonal entry splits the matrix.
    let low = high;
    for (; low > 0; low--) {
      let s = Math.abs(a[(low - 1) * n + low - 1]!) + Math.abs(a[low * n + low]!);
      if (s === 0) s = norm;
      if (Math.abs(a[low * n + low - 1]!) <= EPS * s) {
        a[low * n + low - 1] = 0;
        break;
      }
    }
    let x = a[high * n + high]!;
    if (low === high) {
      re[high] = x + shifted;
      im[high] = 0;
      high--;
      sweeps = 0;
      continue;
    }
    let y = a[(high - 1) * n + high - 1]!;
    let w = a[high * n + high - 1]! * a[(high - 1) * n + high]!;
    if (low === high - 1) {
      const p = 0.5 * (y - x);
      const q = p * p + w;
      const z = Math.sqrt(Math.abs(q));
      x += shifted;
      if (q >= 0) {
        const t = p + (p >= 0 ? z : -z);
        re[high - 1] = x + t;
        re[high] = t === 0 ? x : x - w / t;
        im[high - 1] = im[high] = 0;
      } else {
        re[high - 1] = re[high] = x + p;
        im[high - 1] = z;
        im[high] = -z;
      }
      high -= 2;
      sweeps = 0;
      continue;
    }
    if (sweeps === SWEEPS) return false;
    if (sweeps > 0 && sweeps % 10 === 0) {
      // Exceptional shift, against cycling.
      shifted += x;
      for (let i = 0; i <= high; i++) a[i * n + i]! -= x;
      const s = Math.abs(a[high * n + high - 1]!) + Math.abs(a[(high - 1) * n + high - 2]!);
      x = y = 0.75 * s;
      w = -0.4375 * s * s;
    }
    sweeps++;
    let p = 0,
      q = 0,
      r = 0;
    let m = high - 2;
    for (; m >= low; m--) {
      // First column of the double-shifted product, and two small consecutive subdiagonal entries to begin at.
      const z = a[m * n + m]!;
      const rx = x - z,
        sy = y - z;
      p = (rx * sy - w) / a[(m + 1) * n + m]! + a[m * n + m + 1]!;
      q = a[(m + 1) * n + m + 1]! - z - rx - sy;
      r = a[(m + 2) * n + m + 1]!;
      const s = Math.abs(p) + Math.abs(q) + Math.abs(r);
      p /= s;
      q /= s;
      r /= s;
      if (m === low) break;
      const u = Math.abs(a[m * n + m - 1]!) * (Math.abs(q) + Math.abs(r));
      const v = Math.abs(p) * (Math.abs(a[(m - 1) * n + m - 1]!) + Math.abs(z) + Math.abs(a[(m + 1) * n + m + 1]!));
      if (u <= EPS * v) break;
    }
    for (let i = m + 2; i <= high; i++) {
      a[i * n + i - 2] = 0;
      if (i !== m + 2) a[i * n + i - 3] = 0;
    }
    for (let k = m; k <= high - 1; k++) {
      const last = k === high - 1;
      if (k !== m) {
        p = a[k * n + k - 1]!;
        q = a[(k + 1) * n + k - 1]!;
        r = last ? 0 : a[(k + 2) * n + k - 1]!;
        x = Math.abs(p) + Math.abs(q) + Math.abs(r);
        if (x === 0) continue;
        p /= x;
        q /= x;
        r /= x;
      }
      const s = (p >= 0 ? 1 : -1) * Math.sqrt(p * p + q * q + r * r);
      if (k === m) {
        if (low !== m) a[k * n + k - 1] = -a[k * n + k - 1]!;
      } else a[k * n + k - 1] = -s * x;
      p += s;
      x = p / s;
      y = q / s;
      const z = r / s;
      q /= p;
      r /= p;
      const r0 = k * n,
        r1 = r0 + n,
        r2 = r1 + n;
      if (last) {
        for (let j = k; j <= high; j++) {
          const t = a[r0 + j]! + q * a[r1 + j]!;
          a[r0 + j]! -= t * x;
          a[r1 + j]! -= t * y;
        }
      } else {
        for (let j = k; j <= high; j++) {
          const t = a[r0 + j]! + q * a[r1 + j]! + r * a[r2 + j]!;
          a[r0 + j]! -= t * x;
          a[r1 + j]! -= t * y;
          a[r2 + j]! -= t * z;
        }
      }
      const until = Math.min(high, k + 3);
      if (last) {
        for (let i = low; i <= until; i++) {
          const t = x * a[i * n + k]! + y * a[i * n + k + 1]!;
          a[i * n + k]! -= t;
          a[i * n + k + 1]! -= t * q;
        }
      } else {
        for (let i = low; i <= until; i++) {
          const t = x * a[i * n + k]! + y * a[i * n + k + 1]! + z * a[i * n + k + 2]!;
          a[i * n + k]! -= t;
          a[i * n + k + 1]! -= t * q;
          a[i * n + k + 2]! -= t * r;
        }
      }
    }
  }
  return true;
}
