/** Zones cut into parts in which conditions on clocks are true or false throughout. */
import { isDiagonal, type Runtime, type RuntimeAtom } from "./compile.ts";
import { admits, extrapolate, opposite, tighten } from "./dbm.ts";

/** x_i - x_j bound: rows of a matrix, and a bound of dbm.ts. */
export type Bound = [i: number, j: number, raw: number];

interface Part {
  readonly zone: Int32Array;
  /** Bounds that hold in it because of where it was cut. */
  readonly held: Bound[];
}

/** Disjoint parts of a zone that together are all of it in which none of some conjunctions holds. */
export function partsWithout(zone: Int32Array, n: number, conjunctions: readonly (readonly Bound[])[]): Part[] {
  let left: Part[] = [{ zone, held: [] }];
  for (const bounds of conjunctions) {
    const next: Part[] = [];
    for (const part of left) {
      const inside = part.zone.slice(0, n * n);
      const held = [...part.held];
      for (const [i, j, raw] of bounds) {
        const outside = inside.slice();
        if (tighten(outside, n, j, i, opposite(raw)))
          next.push({ zone: outside, held: [...held, [j, i, opposite(raw)]] });
        if (!tighten(inside, n, i, j, raw)) break;
        held.push([i, j, raw]);
      }
    }
    left = next;
  }
  return left;
}

/**
 * Widens a zone where clocks are compared with one another: cuts it so that each such comparison is true or false in all of a part,
 * widens the part, and adds what was true again (J. Bengtsson, W. Yi, On clock difference constraints and termination in reachability
 * analysis of timed automata, ICFEM 2003).
 * @param lower, upper as for `extrapolate`; the larger of both is used
 */
export function widenInParts(
  zone: Int32Array,
  n: number,
  lower: Int32Array,
  upper: Int32Array,
  cuts: readonly Bound[],
): Int32Array[] {
  const most = Int32Array.from({ length: n }, (_, k) => Math.max(lower[k]!, upper[k]!));
  const parts: Part[] = [{ zone: zone.slice(0, n * n), held: [] }];
  for (const [i, j, raw] of cuts)
    for (let p = parts.length - 1; p >= 0; p--) {
      const part = parts[p]!;
      const inside = admits(part.zone, n, i, j, raw);
      const outside = admits(part.zone, n, j, i, opposite(raw));
      const other: Part | undefined = inside && outside ? { zone: part.zone.slice(), held: [...part.held] } : undefined;
      if (inside) {
        tighten(part.zone, n, i, j, raw);
        part.held.push([i, j, raw]);
      } else part.held.push([j, i, opposite(raw)]);
      if (other === undefined) continue;
      tighten(other.zone, n, j, i, opposite(raw));
      other.held.push([j, i, opposite(raw)]);
      parts.push(other);
    }
  for (const part of parts) {
    extrapolate(part.zone, n, most, most);
    for (const [i, j, raw] of part.held) tighten(part.zone, n, i, j, raw);
  }
  return parts.map((part) => part.zone);
}

/** Every comparison of two clocks; their bounds are constants. */
export function diagonalsOf(runtime: Runtime, queried: readonly RuntimeAtom[]): RuntimeAtom[] {
  const own = runtime.locations.flatMap(({ invariants, internal, sends, receives }) => [
    ...invariants.map(({ atom }) => atom),
    ...[...internal, ...sends, ...receives].flatMap(({ atoms }) => atoms),
  ]);
  const out = new Map<string, RuntimeAtom>();
  for (const atom of [...own, ...queried]) if (isDiagonal(atom)) out.set(`${atom.i} ${atom.j} ${atom.raw}`, atom);
  return [...out.values()];
}
