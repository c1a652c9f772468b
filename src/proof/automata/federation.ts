/** Unions of zones over the same clocks: lists of canonical matrices. */
import { INFINITE, isWithin, opposite, tighten } from "./dbm.ts";

export type Federation = Int32Array[];

/** The part of a zone outside another: disjoint zones. */
export function subtractZone(a: Int32Array, b: Int32Array, n: number): Federation {
  const out: Federation = [];
  const rest = a.slice(0, n * n);
  for (let i = 0; i < n; i++)
    for (let j = 0; j < n; j++) {
      const raw = b[i * n + j]!;
      if (i === j || raw === INFINITE || rest[i * n + j]! <= raw) continue;
      const outside = rest.slice();
      if (tighten(outside, n, j, i, opposite(raw))) out.push(outside);
      if (!tighten(rest, n, i, j, raw)) return out;
    }
  return out;
}

/** The part of a federation outside a zone. */
export const subtract = (from: Federation, b: Int32Array, n: number): Federation =>
  from.flatMap((zone) => (disjoint(zone, b, n) ? [zone] : subtractZone(zone, b, n)));

/** Common part of two zones; undefined when there is none. */
export function intersect(a: Int32Array, b: Int32Array, n: number): Int32Array | undefined {
  const out = a.slice(0, n * n);
  for (let i = 0; i < n; i++)
    for (let j = 0; j < n; j++)
      if (i !== j && b[i * n + j]! !== INFINITE && !tighten(out, n, i, j, b[i * n + j]!)) return undefined;
  return out;
}

function disjoint(a: Int32Array, b: Int32Array, n: number): boolean {
  for (let i = 0; i < n; i++)
    for (let j = 0; j < n; j++) {
      const raw = b[j * n + i]!;
      const own = a[i * n + j]!;
      if (i !== j && own !== INFINITE && raw !== INFINITE && own + raw - ((own & 1) | (raw & 1)) < 1) return true;
    }
  return false;
}

/** Adds a zone unless one that has all of it is there; those that it has all of go. @returns whether it was added */
export function addZone(to: Federation, zone: Int32Array, n: number): boolean {
  for (const other of to) if (isWithin(zone, other, n * n)) return false;
  for (let k = to.length - 1; k >= 0; k--) if (isWithin(to[k]!, zone, n * n)) to.splice(k, 1);
  to.push(zone);
  return true;
}
