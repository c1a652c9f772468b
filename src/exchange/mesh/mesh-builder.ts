/** Collects triangles with each vertex kept once, so that it shows which triangles share an edge. */
import type { MeshData } from "../../clearance/index.ts";

/**
 * Vertices nearer than this, as a share of the largest coordinate, are the same: two roundings to single precision (1.2e-7) that
 * fell to different sides, with as much again for the exporter.
 */
const SAME = 2.5e-7;

export class MeshBuilder {
  #vertices = new Float64Array(3 * 1024);
  #count = 0;
  #indices = new Uint32Array(3 * 1024);
  #length = 0;
  /** Open addressing: number of a vertex, or -1. */
  #table = new Int32Array(4096).fill(-1);
  readonly #number = new Float64Array(3);
  readonly #bits = new Uint32Array(this.#number.buffer);

  get triangles(): number {
    return Math.floor(this.#length / 3);
  }

  /** Adds a corner; three make a triangle. All coordinates finite. */
  corner(x: number, y: number, z: number): void {
    if (this.#length === this.#indices.length) {
      const more = new Uint32Array(2 * this.#length);
      more.set(this.#indices);
      this.#indices = more;
    }
    this.#indices[this.#length++] = this.#vertex(x, y, z);
  }

  #vertex(x: number, y: number, z: number): number {
    const number = this.#number,
      vertices = this.#vertices;
    // Adding 0 makes one zero of the two.
    number[0] = x + 0;
    number[1] = y + 0;
    number[2] = z + 0;
    const mask = this.#table.length - 1;
    let slot = this.#hash() & mask;
    for (; this.#table[slot]! >= 0; slot = (slot + 1) & mask) {
      const at = 3 * this.#table[slot]!;
      if (vertices[at] === number[0] && vertices[at + 1] === number[1] && vertices[at + 2] === number[2])
        return this.#table[slot]!;
    }
    const index = this.#count++;
    if (3 * index === vertices.length) {
      const more = new Float64Array(2 * vertices.length);
      more.set(vertices);
      this.#vertices = more;
    }
    this.#vertices.set(number, 3 * index);
    this.#table[slot] = index;
    if (2 * this.#count > this.#table.length) this.#grow();
    return index;
  }

  #hash(): number {
    let hash = 0;
    for (let k = 0; k < 6; k++) hash = Math.imul(hash ^ this.#bits[k]!, 0x9e3779b1) ^ (hash >>> 15);
    return hash ^ (hash >>> 13);
  }

  #grow(): void {
    const table = new Int32Array(2 * this.#table.length).fill(-1);
    const mask = table.length - 1;
    for (let i = 0; i < this.#count; i++) {
      for (let k = 0; k < 3; k++) this.#number[k] = this.#vertices[3 * i + k]!;
      let slot = this.#hash() & mask;
      while (table[slot]! >= 0) slot = (slot + 1) & mask;
      table[slot] = i;
    }
    this.#table = table;
  }

  /** The mesh so far, with vertices that are almost the same merged into the first of them. */
  finish(): MeshData {
    const vertices = this.#vertices.subarray(0, 3 * this.#count);
    const same = mergeNear(vertices);
    const number = new Int32Array(this.#count).fill(-1);
    const indices = this.#indices.slice(0, 3 * this.triangles);
    const kept = new Float64Array(vertices.length);
    let count = 0;
    for (let i = 0; i < indices.length; i++) {
      const v = same[indices[i]!]!;
      if (number[v]! < 0) {
        kept.set(vertices.subarray(3 * v, 3 * v + 3), 3 * count);
        number[v] = count++;
      }
      indices[i] = number[v]!;
    }
    return { vertices: kept.slice(0, 3 * count), indices };
  }
}

/** For each vertex the first one that is almost the same, found over cells of a grid that are wider than the tolerance. */
function mergeNear(vertices: Float64Array): Uint32Array {
  const n = vertices.length / 3;
  let largest = 0;
  for (const value of vertices) largest = Math.max(largest, Math.abs(value));
  const near = largest * SAME;
  const same = new Uint32Array(n);
  if (!(near > 0)) return same;
  const cell = 8 * near;
  let slots = 16;
  while (slots < 2 * n) slots *= 2;
  const table = new Int32Array(slots).fill(-1);
  const slotOf = (a: number, b: number, c: number) => {
    const hash = Math.imul(a, 0x9e3779b1) ^ Math.imul(b, 0x85ebca6b) ^ Math.imul(c, 0xc2b2ae35);
    return (hash ^ (hash >>> 15)) & (slots - 1);
  };
  for (let i = 0; i < n; i++) {
    const x = vertices[3 * i]!,
      y = vertices[3 * i + 1]!,
      z = vertices[3 * i + 2]!;
    const a1 = Math.floor((x + near) / cell),
      b1 = Math.floor((y + near) / cell),
      c1 = Math.floor((z + near) / cell);
    let found = -1;
    for (let a = Math.floor((x - near) / cell); a <= a1; a++)
      for (let b = Math.floor((y - near) / cell); b <= b1; b++)
        for (let c = Math.floor((z - near) / cell); c <= c1; c++)
          for (let slot = slotOf(a, b, c); table[slot]! >= 0; slot = (slot + 1) & (slots - 1)) {
            const j = table[slot]!;
            const isNear =
              Math.abs(vertices[3 * j]! - x) <= near &&
              Math.abs(vertices[3 * j + 1]! - y) <= near &&
              Math.abs(vertices[3 * j + 2]! - z) <= near;
            if (isNear && (found < 0 || j < found)) found = j;
          }
    same[i] = found < 0 ? i : found;
    if (found >= 0) continue;
    let slot = slotOf(Math.floor(x / cell), Math.floor(y / cell), Math.floor(z / cell));
    while (table[slot]! >= 0) slot = (slot + 1) & (slots - 1);
    table[slot] = i;
  }
  return same;
}
