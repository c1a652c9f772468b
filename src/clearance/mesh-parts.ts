/** Which vertices of a mesh are the same point, and which triangles hang together. */

/** For each vertex the first one with the same coordinates. */
export function weld(vertices: Float64Array): Uint32Array {
  const n = vertices.length / 3;
  const order = Uint32Array.from({ length: n }, (_, i) => i);
  const compare = (i: number, j: number) =>
    vertices[3 * i]! - vertices[3 * j]! ||
    vertices[3 * i + 1]! - vertices[3 * j + 1]! ||
    vertices[3 * i + 2]! - vertices[3 * j + 2]!;
  order.sort((i, j) => compare(i, j) || i - j);
  const same = new Uint32Array(n);
  for (let k = 0; k < n; k++) {
    const i = order[k]!;
    same[i] = k > 0 && compare(order[k - 1]!, i) === 0 ? same[order[k - 1]!]! : i;
  }
  return same;
}

/** One vertex of each part of the mesh that hangs together over shared points, lowest first. */
export function partVertices(vertices: Float64Array, indices: Uint32Array): Uint32Array {
  const owner = weld(vertices);
  const find = (i: number) => {
    while (owner[i] !== i) {
      owner[i] = owner[owner[i]!]!;
      i = owner[i]!;
    }
    return i;
  };
  for (let t = 0; t < indices.length; t += 3)
    for (const other of [indices[t + 1]!, indices[t + 2]!]) {
      const a = find(indices[t]!),
        b = find(other);
      if (a < b) owner[b] = a;
      else owner[a] = b;
    }
  const parts = new Set<number>();
  for (const index of indices) parts.add(find(index));
  return Uint32Array.from([...parts].sort((a, b) => a - b));
}
