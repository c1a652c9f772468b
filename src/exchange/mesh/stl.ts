/**
 * STL files, binary and ASCII. Normals and attribute bytes are not read: the order of the corners says where outside is.
 *
 * Binary: 80 bytes of header, the number of triangles as a 32-bit unsigned integer, then 50 bytes each: normal and three corners as
 * 32-bit floats, two attribute bytes, all little-endian. A file of exactly the size that its count asks for is binary even when it
 * begins with "solid".
 */
import { type AsciiStl, readAsciiStl } from "./ascii-stl.ts";
import { MeshBuilder } from "./mesh-builder.ts";
import { finished, type MeshFile, MOST_TRIANGLES, tooManyTriangles, wrongMesh } from "./mesh-file.ts";

const HEADER = 84;
const TRIANGLE = 50;

/** Never throws, whatever the bytes. @param file name for messages */
export function readStl(bytes: Uint8Array, file: string): MeshFile {
  const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
  const count = bytes.length >= HEADER ? view.getUint32(HEADER - 4, true) : undefined;
  const isWhole = count !== undefined && bytes.length === HEADER + TRIANGLE * count;
  if (!isWhole && looksLikeText(bytes)) return fromText(readAsciiStl(bytes, MOST_TRIANGLES), file);
  if (count === undefined)
    return wrongMesh(
      "mesh-truncated",
      file,
      1,
      `${bytes.length} bytes`,
      "an STL file: text that begins with solid, or 84 bytes and 50 for each triangle",
      "Check that it is an STL file and export it again.",
    );
  if (!isWhole) return wrongCount(bytes, count, file);
  if (count > MOST_TRIANGLES) return tooManyTriangles(file, 1, `${count} triangles`);
  const mesh = new MeshBuilder();
  for (let t = 0, at = HEADER; t < count; t++, at += TRIANGLE)
    for (let corner = at + 12; corner < at + 48; corner += 12) {
      const x = view.getFloat32(corner, true),
        y = view.getFloat32(corner + 4, true),
        z = view.getFloat32(corner + 8, true);
      if (!Number.isFinite(x + y + z))
        return wrongMesh(
          "mesh-not-finite",
          file,
          1,
          `a corner at (${x}, ${y}, ${z}) in triangle ${t + 1}, byte ${corner}`,
          "finite coordinates",
          "Export it again; the drawing may have a broken face there.",
        );
      mesh.corner(x, y, z);
    }
  return finished(mesh.finish(), file);
}

function wrongCount(bytes: Uint8Array, count: number, file: string): MeshFile {
  const room = Math.floor((bytes.length - HEADER) / TRIANGLE);
  const cut = bytes.length < HEADER + TRIANGLE * count;
  return wrongMesh(
    cut ? "mesh-truncated" : "mesh-count",
    file,
    1,
    `${bytes.length} bytes, room for ${room} triangles, and a count of ${count}`,
    `${HEADER + TRIANGLE * count} bytes for that count`,
    cut
      ? "The file was cut off, or is no STL file: copy or export it again."
      : "Export it again: the count or what follows the triangles is wrong.",
  );
}

/** Whether the file begins as text with the words of an ASCII STL file. */
function looksLikeText(bytes: Uint8Array): boolean {
  const head = bytes.subarray(0, 1024);
  const start = String.fromCharCode(...head)
    .replace(/^\u00ef\u00bb\u00bf/, "")
    .toLowerCase();
  if (!/^\s*(solid|facet)\b/.test(start)) return false;
  // A binary header may begin with "solid" as well: then zero bytes or other control characters follow.
  return !head.some((byte) => byte < 9 || (byte > 13 && byte < 32));
}

function fromText(read: AsciiStl, file: string): MeshFile {
  if (!read.ok) {
    const { code, line, found, expected, mend } = read;
    if (code === "mesh-too-large") return tooManyTriangles(file, line, found);
    return wrongMesh(code, file, line, found, expected, mend);
  }
  return finished(read.mesh, file);
}
