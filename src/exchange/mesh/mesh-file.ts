/** What a reader of mesh files gives: triangles, or what is wrong with the file. */
import type { InputIssue } from "../../cell/issue.ts";
import type { MeshData } from "../../clearance/index.ts";

export type MeshFile =
  | { readonly ok: true; readonly mesh: MeshData }
  | { readonly ok: false; readonly issue: InputIssue };

/** Most triangles that are read of one file. */
export const MOST_TRIANGLES = 5_000_000;

/** A problem of a mesh file. `line` counts from 1; 1 in a file that has no lines. */
export function wrongMesh(
  code: string,
  file: string,
  line: number,
  found: string,
  expected: string,
  mend: string,
): { readonly ok: false; readonly issue: InputIssue } {
  return { ok: false, issue: { code, path: "", place: { file, line, column: 1 }, found, expected, mend } };
}

export const tooManyTriangles = (file: string, line: number, found: string) =>
  wrongMesh(
    "mesh-too-large",
    file,
    line,
    found,
    `at most ${MOST_TRIANGLES} triangles`,
    "Export it with a coarser tolerance, or simplify it.",
  );

/** Coordinates beyond this many units of the file are no drawing, and squares of them soon overflow. */
const FARTHEST = 1e12;

/** A mesh that was read, if it can be computed with. */
export function finished(mesh: MeshData, file: string): MeshFile {
  if (mesh.indices.length === 0)
    return wrongMesh("mesh-empty", file, 1, "no triangle", "at least one triangle", "Check what was exported.");
  const far = mesh.vertices.find((value) => !(Math.abs(value) <= FARTHEST));
  if (far === undefined && mesh.vertices.length > 3) return { ok: true, mesh };
  if (far === undefined)
    return wrongMesh(
      "mesh-empty",
      file,
      1,
      "triangles without extent",
      "triangles of different points",
      "Check what was exported.",
    );
  return wrongMesh(
    "mesh-out-of-range",
    file,
    1,
    `a coordinate of ${far}`,
    `coordinates up to ${FARTHEST}`,
    "Export it again; the drawing may have a broken face there.",
  );
}
