/** Edges of a mesh with the triangles at them, and the turning over of triangles until neighbours agree. */

/** Uses of edges by triangles, those of one edge in a row. */
export interface EdgeUses {
  /** 3 · triangle + corner at which the edge begins, per use. */
  readonly uses: Uint32Array;
  /** First use of each edge, and the number of uses at the end. */
  readonly starts: Uint32Array;
}

/**
 * @param indices three per triangle, equal points by equal numbers below `points`
 * Edges between equal points are left out.
 */
export function edgeUses(indices: Uint32Array, points: number): EdgeUses {
  const first = new Uint32Array(points + 1);
  const next = (use: number) => indices[use % 3 === 2 ? use - 2 : use + 1]!;
  for (let use = 0; use < indices.length; use++) {
    const a = indices[use]!,
      b = next(use);
    if (a !== b) first[Math.min(a, b) + 1]!++;
  }
  for (let p = 0; p < points; p++) first[p + 1]! += first[p]!;
  const uses = new Uint32Array(first[points]!);
  const fill = first.slice();
  for (let use = 0; use < indices.length; use++) {
    const a = indices[use]!,
      b = next(use);
    if (a !== b) uses[fill[Math.min(a, b)]!++] = use;
  }
  const other = (use: number) => Math.max(indices[use]!, next(use));
  const starts = new Uint32Array(uses.length + 1);
  let edges = 0;
  for (let p = 0; p < points; p++) {
    const from = first[p]!,
      to = first[p + 1]!;
    sortBy(uses, from, to, other);
    for (let i = from; i < to; i++) if (i === from || other(uses[i]!) !== other(uses[i - 1]!)) starts[edges++] = i;
  }
  starts[edges] = uses.length;
  return { uses, starts: starts.slice(0, edges + 1) };
}

/** Sorts a short stretch in place; ties keep their order. */
function sortBy(values: Uint32Array, from: number, to: number, key: (value: number) => number): void {
  if (to - from > 24) {
    values.subarray(from, to).sort((a, b) => key(a) - key(b) || a - b);
    return;
  }
  for (let i = from + 1; i < to; i++) {
    const value = values[i]!,
      k = key(value);
    let j = i;
    for (; j > from && key(values[j - 1]!) > k; j--) values[j] = values[j - 1]!;
    values[j] = value;
  }
}

/** Whether the use runs from the lower to the higher number. */
export const runsUp = (indices: Uint32Array, use: number): boolean =>
  indices[use]! < indices[use % 3 === 2 ? use - 2 : use + 1]!;

/**
 * Which triangles must be turned over so that neighbours face the same side, walking over edges with exactly two triangles.
 * @returns per triangle its sheet (numbered from 0) and whether it is turned over against the sheet's first triangle; undefined
 *   when a sheet has one side only
 */
export function agree(
  indices: Uint32Array,
  { uses, starts }: EdgeUses,
): { readonly sheet: Int32Array; readonly turned: Uint8Array; readonly sheets: number } | undefined {
  const triangles = indices.length / 3;
  /** The use on the other side of each edge use. */
  const across = new Int32Array(indices.length).fill(-1);
  for (let e = 0; e + 1 < starts.length; e++) {
    const at = starts[e]!;
    if (starts[e + 1]! - at !== 2) continue;
    across[uses[at]!] = uses[at + 1]!;
    across[uses[at + 1]!] = uses[at]!;
  }
  const sheet = new Int32Array(triangles).fill(-1);
  const turned = new Uint8Array(triangles);
  const open = new Int32Array(triangles);
  let sheets = 0;
  for (let first = 0; first < triangles; first++) {
    if (sheet[first]! >= 0) continue;
    sheet[first] = sheets;
    open[0] = first;
    for (let count = 1; count > 0; ) {
      const t = open[--count]!;
      for (let use = 3 * t; use < 3 * t + 3; use++) {
        const beyond = across[use]!;
        if (beyond < 0) continue;
        const neighbour = Math.floor(beyond / 3);
        const same = runsUp(indices, use) === runsUp(indices, beyond) ? 1 : 0;
        const wanted = turned[t]! ^ same;
        if (sheet[neighbour]! < 0) {
          sheet[neighbour] = sheets;
          turned[neighbour] = wanted;
          open[count++] = neighbour;
        } else if (turned[neighbour] !== wanted) return undefined;
      }
    }
    sheets++;
  }
  return { sheet, turned, sheets };
}
