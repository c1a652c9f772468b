/** STL files of meshes. */
import type { MeshData } from "../../src/clearance/index.ts";

export function binaryStl({ vertices, indices }: MeshData, header = "made for a test"): Uint8Array {
  const count = indices.length / 3;
  const bytes = new Uint8Array(84 + 50 * count);
  bytes.set(new TextEncoder().encode(header).subarray(0, 80));
  const view = new DataView(bytes.buffer);
  view.setUint32(80, count, true);
  for (let i = 0; i < indices.length; i++)
    for (let k = 0; k < 3; k++)
      view.setFloat32(84 + 50 * Math.floor(i / 3) + 12 + 12 * (i % 3) + 4 * k, vertices[3 * indices[i]! + k]!, true);
  return bytes;
}

export function asciiStl({ vertices, indices }: MeshData, name = "test"): Uint8Array {
  const lines = [`solid ${name}`];
  for (let t = 0; t < indices.length; t += 3) {
    lines.push("  facet normal 0 0 0", "    outer loop");
    for (let k = 0; k < 3; k++) {
      const at = 3 * indices[t + k]!;
      lines.push(`      vertex ${vertices[at]} ${vertices[at + 1]} ${vertices[at + 2]}`);
    }
    lines.push("    endloop", "  endfacet");
  }
  lines.push(`endsolid ${name}`, "");
  return new TextEncoder().encode(lines.join("\n"));
}
