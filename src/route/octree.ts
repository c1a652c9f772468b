/**
 * A cube of space cut into cells, coarse to fine, and which of them hang together. Two cells that are not closed off hang
 * together when they share a face: at a common edge or corner, cells in between would be closed off whole.
 */

/** What is known of a cell: all of it free, all of it closed off, or neither. */
export const FREE = 0;
export const MIXED = 1;
export const CLOSED = 2;

export class Octree {
  /** Number of cells, those that were split included; cell 0 is the whole cube. */
  count = 1;
  /** Middle (3) and half edge of each cell, m. */
  cells = new Float64Array(4 * 4096);
  kind = new Uint8Array(4096);
  /** First of a cell's eight children, one after the other (x fastest); 0 where it has none. */
  children = new Int32Array(4096);
  private parent = new Int32Array(4096);

  constructor(x: number, y: number, z: number, half: number) {
    this.cells.set([x, y, z, half]);
  }

  /** @returns the first of the eight new cells; what is known of them is to be written by the caller */
  split(cell: number): number {
    if (this.count + 8 > this.kind.length) this.grow();
    const { cells } = this;
    const first = this.count;
    this.count += 8;
    this.children[cell] = first;
    const half = cells[4 * cell + 3]! / 2;
    for (let k = 0; k < 8; k++) {
      const at = 4 * (first + k);
      cells[at] = cells[4 * cell]! + (k & 1 ? half : -half);
      cells[at + 1] = cells[4 * cell + 1]! + (k & 2 ? half : -half);
      cells[at + 2] = cells[4 * cell + 2]! + (k & 4 ? half : -half);
      cells[at + 3] = half;
      this.children[first + k] = 0;
    }
    return first;
  }

  /** The undivided cell that holds a point of the cube. */
  cellAt(x: number, y: number, z: number): number {
    const { cells, children } = this;
    let cell = 0;
    while (children[cell]! > 0) {
      const at = 4 * cell;
      cell =
        children[cell]! + (x >= cells[at]! ? 1 : 0) + (y >= cells[at + 1]! ? 2 : 0) + (z >= cells[at + 2]! ? 4 : 0);
    }
    return cell;
  }

  /** Joins neighbouring undivided cells of kinds up to `most`; then `groupOf` tells which hang together. */
  join(most: number): void {
    const { parent } = this;
    for (let i = 0; i < this.count; i++) parent[i] = i;
    this.inside(0, most);
  }

  groupOf(cell: number): number {
    const { parent } = this;
    let root = cell;
    while (parent[root] !== root) root = parent[root] = parent[parent[root]!]!;
    return root;
  }

  /** Calls `each` with every pair of neighbouring undivided cells. */
  faces(each: (a: number, b: number) => void): void {
    this.visit = each;
    this.inside(0, CLOSED);
    this.visit = undefined;
  }

  private visit: ((a: number, b: number) => void) | undefined;

  private inside(cell: number, most: number): void {
    const first = this.children[cell]!;
    if (first === 0) return;
    for (let k = 0; k < 8; k++) {
      this.inside(first + k, most);
      for (let bit = 1; bit < 8; bit <<= 1) if ((k & bit) === 0) this.across(first + k, first + (k | bit), bit, most);
    }
  }

  /** Neighbours across the face of `a` and `b`, b on the side of greater coordinates along the axis of `bit` (1, 2, 4). */
  private across(a: number, b: number, bit: number, most: number): void {
    const { children, kind } = this;
    const inA = children[a]!,
      inB = children[b]!;
    if (inA === 0 && inB === 0) {
      if (this.visit !== undefined) this.visit(a, b);
      else if (kind[a]! <= most && kind[b]! <= most) this.parent[this.groupOf(a)] = this.groupOf(b);
      return;
    }
    for (let k = 0; k < 8; k++)
      if ((k & bit) === 0) this.across(inA === 0 ? a : inA + (k | bit), inB === 0 ? b : inB + k, bit, most);
  }

  private grow(): void {
    const length = 2 * this.kind.length;
    const cells = new Float64Array(4 * length),
      kind = new Uint8Array(length),
      children = new Int32Array(length);
    cells.set(this.cells);
    kind.set(this.kind);
    children.set(this.children);
    this.cells = cells;
    this.kind = kind;
    this.children = children;
    this.parent = new Int32Array(length);
  }
}
