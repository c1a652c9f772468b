/**
 * Facets in the order in which they hide each other, seen from any side: a tree of planes that part space (binary space
 * partitioning: Fuchs, Kedem and Naylor, 1980). Facets that a plane cuts are split; where one body goes into another, the cut
 * is marked as a line to be drawn.
 */
import type { Facet, FacetModel } from "./facets.ts";

/** A facet or what is left of one after cuts. */
export interface Piece {
  /** Index of the facet. */
  readonly facet: number;
  readonly points: readonly number[];
  /** Per side: the edge of the facet that it is (part of), or one of the two below. */
  readonly edges: readonly number[];
}

/** A side made by cutting only; it is not seen. */
const CUT = -1;
/** A side along which the facet goes into another body. */
export const ENTRY = -2;

interface Node {
  /** Plane n · p = d; absent in a leaf, whose pieces do not hide each other or cannot be told apart. */
  readonly plane?: readonly [nx: number, ny: number, nz: number, d: number];
  readonly pieces: readonly Piece[];
  readonly front?: Node | undefined;
  readonly back?: Node | undefined;
}

export interface DepthOrder {
  /** All pieces, furthest first, seen by a viewer far away in direction (x, y, z). */
  from(x: number, y: number, z: number): Piece[];
  readonly pieces: number;
}

/** Facet planes tried at each node. */
const TRIES = 12;

/** @param among indices of the facets to be ordered; default all */
export function depthOrder(model: FacetModel, among?: readonly number[]): DepthOrder {
  const builder = new Builder(model);
  const root = builder.build(
    (among ?? model.facets.map((_, i) => i)).map((facet): Piece => {
      const { points, edges } = model.facets[facet]!;
      return { facet, points, edges };
    }),
  );
  return {
    pieces: builder.count,
    from(x, y, z) {
      const out: Piece[] = [];
      walk(root, x, y, z, out);
      return out;
    },
  };
}

function walk(node: Node | undefined, x: number, y: number, z: number, out: Piece[]): void {
  if (node === undefined) return;
  const { plane } = node;
  const viewerInFront = plane !== undefined && plane[0] * x + plane[1] * y + plane[2] * z > 0;
  walk(viewerInFront ? node.back : node.front, x, y, z, out);
  for (const piece of node.pieces) out.push(piece);
  walk(viewerInFront ? node.front : node.back, x, y, z, out);
}

interface Extent {
  readonly body: number;
  readonly count: number;
  readonly low: readonly number[];
  readonly high: readonly number[];
}

class Builder {
  count = 0;
  private readonly model: FacetModel;
  /** What is nearer to a plane than this lies in it, m. */
  private readonly near = 1e-8;

  constructor(model: FacetModel) {
    this.model = model;
  }

  build(pieces: readonly Piece[]): Node | undefined {
    if (pieces.length === 0) return undefined;
    const { facets, convex } = this.model;
    const extents = this.extentsOf(pieces);
    if (pieces.length === 1 || (extents.length === 1 && convex[extents[0]!.body])) {
      this.count += pieces.length;
      return { pieces };
    }
    const parting = extents.length > 1 ? this.parting(extents) : undefined;
    if (parting !== undefined) {
      const { axis, at, below } = parting;
      const plane = [0, 0, 0, at] as [number, number, number, number];
      plane[axis] = 1;
      const isBelow = (piece: Piece) => below.has(facets[piece.facet]!.body);
      return {
        plane,
        pieces: [],
        front: this.build(pieces.filter((piece) => !isBelow(piece))),
        back: this.build(pieces.filter(isBelow)),
      };
    }
    const facet = this.choose(pieces);
    const front: Piece[] = [],
      back: Piece[] = [],
      inside: Piece[] = [];
    for (const piece of pieces) this.part(piece, facet, front, back, inside);
    this.count += inside.length;
    return {
      plane: [facet.nx, facet.ny, facet.nz, facet.d],
      pieces: inside,
      front: this.build(front),
      back: this.build(back),
    };
  }

  private extentsOf(pieces: readonly Piece[]): Extent[] {
    const found = new Map<number, { body: number; count: number; low: number[]; high: number[] }>();
    for (const { facet, points } of pieces) {
      const { body } = this.model.facets[facet]!;
      let extent = found.get(body);
      if (extent === undefined) {
        extent = { body, count: 0, low: [Infinity, Infinity, Infinity], high: [-Infinity, -Infinity, -Infinity] };
        found.set(body, extent);
      }
      extent.count++;
      for (let i = 0; i < points.length; i++) {
        const value = points[i]!,
          axis = i % 3;
        if (value < extent.low[axis]!) extent.low[axis] = value;
        if (value > extent.high[axis]!) extent.high[axis] = value;
      }
    }
    return [...found.values()].sort((a, b) => a.body - b.body);
  }

  /** A plane across an axis with whole bodies on either side of it, as even as can be. */
  private parting(extents: readonly Extent[]): { axis: number; at: number; below: Set<number> } | undefined {
    const total = extents.reduce((sum, { count }) => sum + count, 0);
    let best: { axis: number; at: number; below: Set<number> } | undefined;
    let evenness = 0;
    for (let axis = 0; axis < 3; axis++) {
      const order = extents.toSorted((a, b) => a.low[axis]! + a.high[axis]! - b.low[axis]! - b.high[axis]!);
      let top = -Infinity,
        count = 0;
      const above = order.map(() => Infinity);
      for (let k = order.length - 2; k >= 0; k--) above[k] = Math.min(above[k + 1]!, order[k + 1]!.low[axis]!);
      for (let k = 0; k + 1 < order.length; k++) {
        top = Math.max(top, order[k]!.high[axis]!);
        count += order[k]!.count;
        const even = Math.min(count, total - count);
        if (top > above[k]! + this.near || even <= evenness) continue;
        evenness = even;
        best = { axis, at: (top + above[k]!) / 2, below: new Set(order.slice(0, k + 1).map(({ body }) => body)) };
      }
    }
    return best;
  }

  /** The facet whose plane cuts fewest of the pieces and leaves the sides most even. */
  private choose(pieces: readonly Piece[]): Facet {
    const { facets } = this.model;
    const step = Math.max(1, pieces.length / TRIES);
    let best = facets[pieces[0]!.facet]!;
    let least = Infinity;
    for (let k = 0; k < pieces.length; k += step) {
      const facet = facets[pieces[Math.floor(k)]!.facet]!;
      let front = 0,
        back = 0,
        cut = 0;
      for (const { points } of pieces) {
        const side = this.sideOf(points, facet);
        if (side === 2) cut++;
        else if (side > 0) front++;
        else if (side < 0) back++;
        if (8 * cut >= least) break;
      }
      const cost = 8 * cut + Math.abs(front - back);
      if (cost < least) {
        least = cost;
        best = facet;
      }
    }
    return best;
  }

  /** 0: in the plane of the facet, 1: in front, -1: behind, 2: on both sides. */
  private sideOf(points: readonly number[], { nx, ny, nz, d }: Facet): number {
    let side = 0;
    for (let i = 0; i < points.length; i += 3) {
      const off = nx * points[i]! + ny * points[i + 1]! + nz * points[i + 2]! - d;
      if (off > this.near) {
        if (side < 0) return 2;
        side = 1;
      } else if (off < -this.near) {
        if (side > 0) return 2;
        side = -1;
      }
    }
    return side;
  }

  private part(piece: Piece, facet: Facet, front: Piece[], back: Piece[], inside: Piece[]): void {
    const side = this.sideOf(piece.points, facet);
    if (side === 2) this.cut(piece, facet, front, back);
    else (side === 0 ? inside : side > 0 ? front : back).push(piece);
  }

  private cut(piece: Piece, facet: Facet, front: Piece[], back: Piece[]): void {
    const { points, edges } = piece;
    const { nx, ny, nz, d } = facet;
    const n = edges.length;
    const off = edges.map((_, i) => nx * points[3 * i]! + ny * points[3 * i + 1]! + nz * points[3 * i + 2]! - d);
    const sides = [
      { points: [] as number[], edges: [] as number[] },
      { points: [] as number[], edges: [] as number[] },
    ];
    // Where the outline goes over from one side to the other: [front half leaves, front half returns].
    const crossings: [x: number, y: number, z: number][] = [];
    for (let i = 0; i < n; i++) {
      const j = (i + 1) % n;
      const here = off[i]!,
        next = off[j]!;
      const corner = points.slice(3 * i, 3 * i + 3);
      const on = Math.abs(here) <= this.near;
      for (const [s, half] of sides.entries()) {
        const sign = s === 0 ? 1 : -1;
        if (!on && sign * here < 0) continue;
        half.points.push(...corner);
        // From a corner in the plane to the other side: from here on the cut is the border.
        half.edges.push(on && sign * next < -this.near ? CUT : edges[i]!);
      }
      if (on) crossings.push(corner as [number, number, number]);
      else if (Math.abs(next) > this.near && here > 0 !== next > 0) {
        const share = here / (here - next);
        const at = [0, 1, 2].map((k) => points[3 * i + k]! + share * (points[3 * j + k]! - points[3 * i + k]!));
        crossings.push(at as [number, number, number]);
        const leaves = here > 0 ? 0 : 1;
        sides[leaves]!.points.push(...at);
        sides[leaves]!.edges.push(CUT);
        sides[1 - leaves]!.points.push(...at);
        sides[1 - leaves]!.edges.push(edges[i]!);
      }
    }
    const entry = crossings.length === 2 ? this.entryOf(piece, facet, crossings) : undefined;
    for (const [s, half] of sides.entries()) {
      if (half.edges.length < 3) continue;
      (s === 0 ? front : back).push({ facet: piece.facet, ...(entry === undefined ? half : marked(half, entry)) });
    }
  }

  /** The stretch of a cut that lies within the cutting facet, when that is of another body. */
  private entryOf(piece: Piece, facet: Facet, ends: readonly (readonly number[])[]): number[] | undefined {
    if (this.model.facets[piece.facet]!.body === facet.body) return undefined;
    const [a, b] = ends as [number[], number[]];
    let from = 0,
      to = 1;
    const p = facet.points;
    for (let i = 0; i < p.length; i += 3) {
      const j = (i + 3) % p.length;
      const x = p[j]! - p[i]!,
        y = p[j + 1]! - p[i + 1]!,
        z = p[j + 2]! - p[i + 2]!;
      // Inward from this side of the facet.
      const ix = facet.ny * z - facet.nz * y,
        iy = facet.nz * x - facet.nx * z,
        iz = facet.nx * y - facet.ny * x;
      const at = (q: readonly number[]) => ix * (q[0]! - p[i]!) + iy * (q[1]! - p[i + 1]!) + iz * (q[2]! - p[i + 2]!);
      const da = at(a),
        db = at(b);
      if (da < 0 && db < 0) return undefined;
      if (da < 0) from = Math.max(from, da / (da - db));
      else if (db < 0) to = Math.min(to, da / (da - db));
    }
    const long = Math.hypot(b[0]! - a[0]!, b[1]! - a[1]!, b[2]! - a[2]!);
    if (!((to - from) * long > 10 * this.near)) return undefined;
    const between = (t: number) => [0, 1, 2].map((k) => a[k]! + t * (b[k]! - a[k]!));
    return [...between(from), ...between(to)];
  }
}

/** The half with the stretch of its cut side marked as an entry. */
function marked(half: { points: number[]; edges: number[] }, entry: readonly number[]): typeof half {
  const at = half.edges.indexOf(CUT);
  // A half that was cut before has other cut sides too: the one meant is the one that the stretch lies on.
  const side = half.edges.findIndex((edge, i) => edge === CUT && liesOn(half.points, i, entry));
  const i = side < 0 ? at : side;
  if (i < 0 || side < 0) return half;
  const n = half.edges.length;
  const start = half.points.slice(3 * i, 3 * i + 3);
  const near = (k: number) => Math.hypot(entry[k]! - start[0]!, entry[k + 1]! - start[1]!, entry[k + 2]! - start[2]!);
  const inOrder = near(0) <= near(3) ? entry : [...entry.slice(3), ...entry.slice(0, 3)];
  const points = [...half.points.slice(0, 3 * i + 3), ...inOrder, ...half.points.slice(3 * i + 3)];
  const edges = [...half.edges.slice(0, i), CUT, ENTRY, CUT, ...half.edges.slice(i + 1, n)];
  return { points, edges };
}

function liesOn(points: readonly number[], i: number, entry: readonly number[]): boolean {
  const j = (3 * i + 3) % points.length;
  const p = points.slice(3 * i, 3 * i + 3),
    q = points.slice(j, j + 3);
  const length = Math.hypot(q[0]! - p[0]!, q[1]! - p[1]!, q[2]! - p[2]!);
  const to = (k: number, end: readonly number[]) =>
    Math.hypot(entry[k]! - end[0]!, entry[k + 1]! - end[1]!, entry[k + 2]! - end[2]!);
  // Triangle equality: a point on the side is as far from both ends together as the side is long.
  return [0, 3].every((k) => to(k, p) + to(k, q) <= length * (1 + 1e-9));
}
