/** Zones against points: a zone is compared with the set of points of a fine grid that meet its bounds. */
import { expect, it } from "vitest";
import {
  AT_MOST_ZERO,
  add,
  bound,
  close,
  down,
  extrapolate,
  free,
  INFINITE,
  isWithin,
  reset,
  setUniverse,
  setZero,
  tighten,
  up,
} from "./dbm.ts";
import { addZone, type Federation, intersect, subtractZone } from "./federation.ts";

/** Three clocks at halves from 0 to 4: for whole bounds every zone up to there has a point on it, strict or not, or is empty there. */
const N = 3;
const STEPS = 9;
const points: number[][] = [];
for (let a = 0; a < STEPS; a++) for (let b = 0; b < STEPS; b++) points.push([0, a / 2, b / 2]);

/** Mulberry32. */
function dice(seed: number): (n: number) => number {
  let state = seed;
  return (n) => {
    state = (state + 0x6d2b79f5) >>> 0;
    let t = Math.imul(state ^ (state >>> 15), state | 1);
    t ^= t + Math.imul(t ^ (t >>> 7), t | 61);
    return ((t ^ (t >>> 14)) >>> 0) % n;
  };
}

const meets = (x: readonly number[], i: number, j: number, raw: number): boolean =>
  raw === INFINITE || (raw & 1 ? x[i]! - x[j]! <= raw >> 1 : x[i]! - x[j]! < raw >> 1);
const contains = (m: Int32Array, x: readonly number[]): boolean => {
  for (let i = 0; i < N; i++) for (let j = 0; j < N; j++) if (!meets(x, i, j, m[i * N + j]!)) return false;
  return true;
};
const setOf = (m: Int32Array | undefined) => points.map((x) => (m !== undefined && contains(m, x) ? 1 : 0)).join("");
const setOfAll = (zones: Federation) => points.map((x) => (zones.some((m) => contains(m, x)) ? 1 : 0)).join("");

interface Bound {
  readonly i: number;
  readonly j: number;
  readonly raw: number;
}
function randomBounds(roll: (n: number) => number): Bound[] {
  return Array.from({ length: 1 + roll(4) }, () => {
    const i = roll(N);
    const j = (i + 1 + roll(N - 1)) % N;
    return { i, j, raw: bound(roll(7) - (i === 0 ? 4 : 2), roll(2) === 0) };
  });
}
function zoneOf(bounds: readonly Bound[]): Int32Array | undefined {
  const m = new Int32Array(N * N);
  setUniverse(m, N);
  return bounds.every(({ i, j, raw }) => tighten(m, N, i, j, raw)) ? m : undefined;
}
/** The same by closing the whole matrix at the end. */
function zoneByClosing(bounds: readonly Bound[]): Int32Array | undefined {
  const m = new Int32Array(N * N);
  setUniverse(m, N);
  for (const { i, j, raw } of bounds) m[i * N + j] = Math.min(m[i * N + j]!, raw);
  return close(m, N) ? m : undefined;
}
const CASES = 2000;

it("adds bounds: the sum may be reached when both may", () => {
  expect(add(bound(2, false), bound(3, false))).toBe(bound(5, false));
  expect(add(bound(2, true), bound(3, false))).toBe(bound(5, true));
  expect(add(bound(-2, true), bound(3, true))).toBe(bound(1, true));
  expect(add(INFINITE, bound(-3, true))).toBe(INFINITE);
});

it("tightens to the same canonical zone as closing does, with the points that meet the bounds", () => {
  const roll = dice(1);
  let empty = 0;
  for (let k = 0; k < CASES; k++) {
    const bounds = randomBounds(roll);
    const zone = zoneOf(bounds);
    const closed = zoneByClosing(bounds);
    expect(zone?.join()).toBe(closed?.join());
    expect(setOf(zone)).toBe(
      points.map((x) => (bounds.every(({ i, j, raw }) => meets(x, i, j, raw)) ? 1 : 0)).join(""),
    );
    if (zone === undefined) empty++;
  }
  expect(empty).toBeGreaterThan(100);
});

it("lets time pass, goes back in time, resets and frees clocks, as points do", () => {
  const roll = dice(2);
  for (let k = 0; k < CASES; k++) {
    // All within 0..2, so that the points looked at, up to 4, see what is gained.
    const zone = zoneOf([
      ...randomBounds(roll),
      { i: 1, j: 0, raw: bound(2, false) },
      { i: 2, j: 0, raw: bound(2, false) },
    ]);
    if (zone === undefined) continue;
    const inside = points.filter((x) => contains(zone, x));
    // Quarters: some zones have no point on the grid of halves, such as 0 < x < y < 1 with y - x < 1.
    if (inside.length === 0) continue;
    const quarters: number[][] = [];
    for (let a = 0; a <= 8; a++)
      for (let b = 0; b <= 8; b++) if (contains(zone, [0, a / 4, b / 4])) quarters.push([0, a / 4, b / 4]);
    const reached = (of: (x: readonly number[], y: readonly number[]) => boolean) =>
      points.map((x) => (quarters.some((y) => of(x, y)) ? 1 : 0)).join("");
    const after = zone.slice();
    up(after, N);
    expect(setOf(after)).toBe(reached((x, y) => x[1]! - y[1]! === x[2]! - y[2]! && x[1]! >= y[1]!));
    const before = zone.slice();
    down(before, N);
    expect(setOf(before)).toBe(reached((x, y) => x[1]! - y[1]! === x[2]! - y[2]! && x[1]! <= y[1]!));
    const set = zone.slice();
    reset(set, N, 1, 3);
    expect(setOf(set)).toBe(reached((x, y) => x[1] === 3 && x[2] === y[2]));
    const any = zone.slice();
    free(any, N, 2);
    expect(setOf(any)).toBe(reached((x, y) => x[1] === y[1]));
    for (const m of [after, before, set, any]) {
      const again = m.slice();
      expect(close(again, N)).toBe(true);
      expect(again.join()).toBe(m.join());
    }
  }
});

it("intersects, takes away and compares zones as sets of points", () => {
  const roll = dice(3);
  for (let k = 0; k < CASES; k++) {
    const a = zoneOf(randomBounds(roll));
    const b = zoneOf(randomBounds(roll));
    if (a === undefined || b === undefined) continue;
    const [sa, sb] = [setOf(a), setOf(b)];
    const and = [...sa].map((one, p) => (one === "1" && sb[p] === "1" ? 1 : 0)).join("");
    const less = [...sa].map((one, p) => (one === "1" && sb[p] === "0" ? 1 : 0)).join("");
    expect(setOf(intersect(a, b, N))).toBe(and);
    const parts = subtractZone(a, b, N);
    expect(setOfAll(parts)).toBe(less);
    for (const [p, one] of parts.entries())
      for (const other of parts.slice(p + 1)) expect(intersect(one, other, N)).toBeUndefined();
    if (isWithin(a, b, N * N)) expect(less).not.toContain("1");
    else expect(parts.length).toBeGreaterThan(0);
    const both: Federation = [];
    addZone(both, a, N);
    addZone(both, b, N);
    expect(setOfAll(both)).toBe([...sa].map((one, p) => (one === "1" || sb[p] === "1" ? 1 : 0)).join(""));
  }
});

it("extrapolates to a larger zone whose points can be told from none of the zone by comparisons within the bounds", () => {
  const roll = dice(4);
  let widened = 0;
  for (let k = 0; k < CASES; k++) {
    const zone = zoneOf(randomBounds(roll));
    if (zone === undefined) continue;
    const lower = Int32Array.from([0, roll(4) - 1, roll(4) - 1]);
    const upper = Int32Array.from([0, roll(4) - 1, roll(4) - 1]);
    const wide = zone.slice();
    extrapolate(wide, N, lower, upper);
    expect(isWithin(zone, wide, N * N)).toBe(true);
    const again = wide.slice();
    expect(close(again, N)).toBe(true);
    expect(again.join()).toBe(wide.join());
    if (wide.join() !== zone.join()) widened++;
    // Every point added is simulated by one of the zone (Behrmann and others 2006, definition 4), searched on quarters up to 8.
    for (const x of points) {
      if (contains(zone, x) || !contains(wide, x)) continue;
      let simulated = false;
      for (let a = 0; a <= 40 && !simulated; a++)
        for (let b = 0; b <= 40 && !simulated; b++) {
          const y = [0, a / 4, b / 4];
          simulated =
            contains(zone, y) &&
            [1, 2].every((c) => (x[c]! > y[c]! ? y[c]! > lower[c]! : x[c]! < y[c]! ? x[c]! > upper[c]! : true));
        }
      expect(simulated, `case ${k}: ${x}`).toBe(true);
    }
  }
  expect(widened).toBeGreaterThan(300);
});

it("has only the origin at the start", () => {
  const m = new Int32Array(N * N);
  setZero(m, N);
  expect(setOf(m)).toBe(points.map((x) => (x.every((v) => v === 0) ? 1 : 0)).join(""));
  expect([...m].every((raw) => raw === AT_MOST_ZERO)).toBe(true);
});
