/** Which vertices of a mesh are the same point, and which triangles hang together. */

/** For each vertex the first one with the same coordinates. */
export function weld(vertices: Float64Array): Uint32Array {
  const n = vertices.length / 3;
  let slots = 16;
  while (slots < 2 * n) slots *= 2;
  const table = new Int32Array(slots).fill(-1);
  const same = new Uint32Array(n);
  const number = new Float64Array(3);
  const bits = new Uint32Array(number.buffer);
  for (let i = 0; i < n; i++) {
    // Adding 0 makes one zero of the two.
    number[0] = vertices[3 * i]! + 0;
    number[1] = vertices[3 * i + 1]! + 0;
    number[2] = vertices[3 * i + 2]! + 0;
    let hash = 0;
    for (let k = 0; k < 6; k++) hash = Math.imul(hash ^ bits[k]!, 0x9e3779b1) ^ (hash >>> 15);
    let slot = (hash ^ (hash >>> 13)) & (slots - 1);
    for (; table[slot]! >= 0; slot = (slot + 1) & (slots - 1)) {
      const j = 3 * table[slot]!;
      if (vertices[j] === number[0] && vertices[j + 1] === number[1] && vertices[j + 2] === number[2]) break;
    }
    if (table[slot]! < 0) table[slot] = i;
    same[i] = table[slot]!;
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
    for (let k = 1; k < 3; k++) {
      const a = find(indices[t]!),
        b = find(indices[t + k]!);
      if (a < b) owner[b] = a;
      else owner[a] = b;
    }
  const seen = new Uint8Array(owner.length);
  const parts: number[] = [];
  for (let t = 0; t < indices.length; t += 3) {
    const part = find(indices[t]!);
    if (seen[part] === 0) parts.push(part);
    seen[part] = 1;
  }
  return Uint32Array.from(parts.sort((a, b) => a - b));
}
