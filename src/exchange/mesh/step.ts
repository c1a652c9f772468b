/**
 * STEP files (ISO 10303-21). Their faces are turned into triangles by a geometry kernel outside this floor, which takes a
 * second and blocks; here is what can be told before, and what becomes of its triangles.
 */
import { MeshBuilder } from "./mesh-builder.ts";
import { finished, type MeshFile, MOST_TRIANGLES, tooManyTriangles, wrongMesh } from "./mesh-file.ts";

/** How far triangles may stay away from curved faces, and turn from one to the next. */
export const STEP_DEFLECTION = { metres: 0.0001, radians: 0.2 };

/** Triangles of one body, coordinates in m. */
export interface StepPart {
  readonly positions: Float64Array;
  readonly indices: Uint32Array;
}

const BEGIN = "ISO-10303-21;";
const END = "END-ISO-10303-21;";

/** What is wrong with a file as a whole; undefined when it may be handed to the kernel. */
export function refuseStep(bytes: Uint8Array, file: string): MeshFile | undefined {
  const head = textOf(bytes.subarray(0, 256))
    .replace(/^\u00ef\u00bb\u00bf/, "")
    .trimStart();
  if (!head.startsWith(BEGIN))
    return wrongMesh(
      "mesh-syntax",
      file,
      1,
      JSON.stringify(head.slice(0, 20)),
      `a STEP file, which begins with ${BEGIN}`,
      "Check that it is a STEP file; a packed one (.stpz) must be unpacked.",
    );
  if (textOf(bytes.subarray(-4096)).includes(END)) return undefined;
  let line = 1;
  for (const byte of bytes) if (byte === 10) line++;
  return wrongMesh(
    "mesh-truncated",
    file,
    line,
    "the end of the file",
    END,
    "The file was cut off: copy or export it again.",
  );
}

/** @param said messages of the kernel, for the place where a file cannot be read */
export function meshOfStep(parts: readonly StepPart[] | undefined, said: string, file: string): MeshFile {
  // The kernel leaves out what it cannot follow and goes on; a part of a machine must not be missing unnoticed.
  if (parts === undefined || /\bERR\b/.test(said)) {
    const line = Number(/\bline (\d+)/i.exec(said)?.[1] ?? 1);
    const reason = said
      .replace(/[*\s]+/g, " ")
      .trim()
      .slice(0, 120);
    return wrongMesh(
      "mesh-syntax",
      file,
      line,
      reason === "" ? "entities that cannot be understood" : reason,
      "a STEP file of solids or faces",
      "Export it again, as AP203, AP214 or AP242 with exact geometry.",
    );
  }
  const triangles = parts.reduce((sum, { indices }) => sum + Math.floor(indices.length / 3), 0);
  if (triangles > MOST_TRIANGLES) return tooManyTriangles(file, 1, `${triangles} triangles`);
  const mesh = new MeshBuilder();
  for (const { positions, indices } of parts)
    for (const i of indices) mesh.corner(positions[3 * i]!, positions[3 * i + 1]!, positions[3 * i + 2]!);
  return finished(mesh.finish(), file);
}

const textOf = (bytes: Uint8Array) => String.fromCharCode(...bytes);
