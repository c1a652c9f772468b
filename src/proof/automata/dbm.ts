/**
 * Zones as difference-bound matrices. Entry (i, j) of an n × n matrix, row by row, bounds x_i - x_j; x_0 is the zero. A bound is
 * a whole number and whether it may be reached, in one integer: 2·c + 1 for <= c, 2·c for < c; the larger integer is the weaker bound.
 * All functions keep a matrix canonical (every bound as tight as the others imply) unless they say otherwise.
 *
 * Source: D. L. Dill, Timing assumptions and verification of finite-state concurrent systems, 1989; J. Bengtsson, W. Yi, Timed
 * automata: semantics, algorithms and tools, 2004.
 */

/** No bound. */
export const INFINITE = 0x3fffffff;
/** <= 0. */
export const AT_MOST_ZERO = 1;

export const bound = (value: number, strict: boolean): number => 2 * value + (strict ? 0 : 1);
export const valueOfBound = (raw: number): number => raw >> 1;
export const isStrict = (raw: number): boolean => (raw & 1) === 0;

export function add(a: number, b: number): number {
  return a === INFINITE || b === INFINITE ? INFINITE : a + b - ((a & 1) | (b & 1));
}

/** The complement of x_i - x_j raw, as a bound of x_j - x_i: not (<= c) is (< -c) the other way round. */
export const opposite = (raw: number): number => 1 - raw;

/** All clocks at 0. */
export function setZero(m: Int32Array, n: number): void {
  m.fill(AT_MOST_ZERO, 0, n * n);
}

/** All clocks anywhere from 0. */
export function setUniverse(m: Int32Array, n: number): void {
  m.fill(INFINITE, 0, n * n);
  for (let i = 0; i < n; i++) {
    m[i] = AT_MOST_ZERO;
    m[i * n + i] = AT_MOST_ZERO;
  }
}

/** Adds x_i - x_j raw. @returns false when nothing is left; the matrix is then of no use */
export function tighten(m: Int32Array, n: number, i: number, j: number, raw: number): boolean {
  if (raw >= m[i * n + j]!) return true;
  if (add(raw, m[j * n + i]!) < AT_MOST_ZERO) return false;
  m[i * n + j] = raw;
  const rowJ = j * n;
  for (let p = 0; p < n; p++) {
    const toI = m[p * n + i]!;
    if (toI === INFINITE) continue;
    const viaI = p === i ? raw : toI + raw - ((toI & 1) | (raw & 1));
    const row = p * n;
    if (viaI < m[row + j]!) m[row + j] = viaI;
    for (let q = 0; q < n; q++) {
      const fromJ = m[rowJ + q]!;
      if (fromJ === INFINITE) continue;
      const whole = viaI + fromJ - ((viaI & 1) | (fromJ & 1));
      if (whole < m[row + q]!) m[row + q] = whole;
    }
  }
  return true;
}

/** Whether something is left when x_i - x_j raw is added; the matrix stays as it is. */
export const admits = (m: Int32Array, n: number, i: number, j: number, raw: number): boolean =>
  add(raw, m[j * n + i]!) >= AT_MOST_ZERO;

/** Lets time pass: removes the upper bounds of all clocks. */
export function up(m: Int32Array, n: number): void {
  for (let i = 1; i < n; i++) m[i * n] = INFINITE;
}

/** All that reaches the zone by letting time pass. */
export function down(m: Int32Array, n: number): void {
  for (let j = 1; j < n; j++) {
    let least = AT_MOST_ZERO;
    for (let i = 1; i < n; i++) least = Math.min(least, m[i * n + j]!);
    m[j] = least;
  }
}

/** Sets a clock to a value. */
export function reset(m: Int32Array, n: number, clock: number, value: number): void {
  for (let j = 0; j < n; j++) {
    if (j === clock) continue;
    const above = m[j]!;
    const below = m[j * n]!;
    m[clock * n + j] = above === INFINITE ? INFINITE : above + 2 * value;
    m[j * n + clock] = below === INFINITE ? INFINITE : below - 2 * value;
  }
}

/** Removes all that is known of a clock but that it is not negative. */
export function free(m: Int32Array, n: number, clock: number): void {
  for (let i = 0; i < n; i++) {
    if (i === clock) continue;
    m[clock * n + i] = INFINITE;
    m[i * n + clock] = m[i * n]!;
  }
}

/** Makes a matrix canonical. @returns false when the zone is empty. O(n³) */
export function close(m: Int32Array, n: number): boolean {
  for (let k = 0; k < n; k++) {
    const rowK = k * n;
    for (let i = 0; i < n; i++) {
      const first = m[i * n + k]!;
      if (first === INFINITE || i === k) continue;
      const row = i * n;
      for (let j = 0; j < n; j++) {
        const second = m[rowK + j]!;
        if (second === INFINITE) continue;
        const whole = first + second - ((first & 1) | (second & 1));
        if (whole < m[row + j]!) m[row + j] = whole;
      }
      if (m[row + i]! < AT_MOST_ZERO) return false;
    }
  }
  return true;
}

/** Whether every point of a canonical zone is in another one. */
export function isWithin(a: Int32Array, b: Int32Array, size: number, aOffset = 0, bOffset = 0): boolean {
  for (let k = 0; k < size; k++) if (a[aOffset + k]! > b[bOffset + k]!) return false;
  return true;
}

/**
 * Extrapolation Extra+_LU: widens a zone to one of finitely many without changing what can happen from it. A clock above all bounds
 * that it is compared with from below (`lower`) or above (`upper`) need not be known exactly; -1 means never compared. With
 * lower = upper the widened zone has only points that behave exactly like points of the zone.
 *
 * Not to be used where clocks are compared with one another (P. Bouyer, Untameable timed automata!, 2003).
 * Source: G. Behrmann, P. Bouyer, K. G. Larsen, R. Pelánek, Lower and upper bounds in zone-based abstractions of timed automata,
 * STTT 8 (2006), definition of Extra+_LU.
 * @param lower by row of the matrix, [0] unused; bounds of whole units
 * @returns the matrix, canonical again
 */
export function extrapolate(m: Int32Array, n: number, lower: Int32Array, upper: Int32Array): void {
  let changed = false;
  for (let i = 1; i < n; i++) {
    const row = i * n;
    const most = bound(lower[i]!, false);
    // The whole zone is above L: x_i > L holds everywhere.
    const above = m[i]! <= bound(-lower[i]!, true);
    for (let j = 0; j < n; j++) {
      if (j === i || m[row + j] === INFINITE) continue;
      if (above || m[row + j]! > most || (j > 0 && m[j]! <= bound(-upper[j]!, true))) {
        m[row + j] = INFINITE;
        changed = true;
      }
    }
  }
  for (let j = 1; j < n; j++) {
    const weakest = upper[j]! < 0 ? AT_MOST_ZERO : bound(-upper[j]!, true);
    if (m[j]! < weakest) {
      m[j] = weakest;
      changed = true;
    }
  }
  if (changed) close(m, n);
}
