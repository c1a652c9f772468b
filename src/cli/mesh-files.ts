/** The mesh files that a cell names, read from disk: each once, only in the cell's folder or below it. */
import { type Cell, folderOf, type InputIssue, resolveIn } from "../cell/index.ts";
import { cellMeshes, type MeshUse } from "../check/index.ts";
import type { MeshData, MeshLibrary } from "../clearance/index.ts";
import { type Beside, type MeshFile, readGltf, readStl } from "../exchange/index.ts";
import { UnusableInput } from "./exit-status.ts";
import { cellFolder } from "./file-source.ts";
import { issuesText } from "./issues-text.ts";
import { readStep } from "./step-thread.ts";

/** Largest mesh file that is read, bytes. */
export const LARGEST_MESH_FILE = 600_000_000;

export interface MeshFiles {
  readonly library: MeshLibrary;
  /** What is wrong with files, in the order in which the cell names them. */
  readonly issues: readonly InputIssue[];
}

/** Reads the mesh files of a cell. @param entry path of the cell's first file, as given to the loader */
export async function readMeshFiles(cell: Cell, entry: string): Promise<MeshFiles> {
  const files = cellFolder(entry);
  const folder = folderOf(entry);
  const meshes = new Map<string, MeshData | undefined>();
  const issues: InputIssue[] = [];
  for (const use of cellMeshes(cell)) {
    const { file } = use.shape;
    if (meshes.has(file)) continue;
    const read = await readFile(files, folder, cell, use);
    meshes.set(file, read.ok ? read.mesh : undefined);
    if (!read.ok) issues.push(read.issue);
  }
  return { library: (file) => meshes.get(file), issues };
}

/** Meshes for a cell whose files must all be good. @throws UnusableInput with every issue */
export async function loadMeshFiles(cell: Cell, entry: string): Promise<MeshLibrary> {
  const { library, issues } = await readMeshFiles(cell, entry);
  if (issues.length > 0) throw new UnusableInput(issuesText(issues));
  return library;
}

async function readFile(
  files: ReturnType<typeof cellFolder>,
  folder: string,
  cell: Cell,
  use: MeshUse,
): Promise<MeshFile> {
  const named = use.shape.file;
  const path = `${use.path.join(".")}.mesh`;
  const atShape = (code: string, found: string, expected: string, mend: string): MeshFile => ({
    ok: false,
    issue: { code, path, place: cell.locate([...use.path, "mesh"]), found, expected, mend },
  });
  const local = resolveIn("", named);
  if (local === undefined)
    return atShape(
      "outside",
      named,
      "a mesh file in the folder of the cell or below it",
      named.startsWith("package:")
        ? "Copy the file beside the URDF file and name it there relative to it, without package://."
        : "Copy the file there and name it relative to the file that names it.",
    );
  const read = readers[local.slice(local.lastIndexOf(".") + 1).toLowerCase()];
  if (read === undefined)
    return atShape(
      "mesh-format",
      named,
      `a file that ends in ${endings}`,
      "Export the drawing in one of these formats.",
    );
  const file = `${folder}${local}`;
  const got = files.read(file, LARGEST_MESH_FILE);
  if ("problem" in got) {
    const code = (
      {
        missing: "missing-file",
        outside: "outside",
        "too large": "mesh-too-large",
        unreadable: "unreadable-file",
      } as const
    )[got.problem];
    return atShape(code, `${named} (${got.detail})`, "a mesh file that can be read", "Check the name and the folder.");
  }
  const mesh = await read(got.bytes, file, besideOf(files, folder, local));
  return mesh.ok ? mesh : { ok: false, issue: { ...mesh.issue, path } };
}

type Reader = (bytes: Uint8Array, file: string, beside: Beside) => MeshFile | Promise<MeshFile>;

const readers: Readonly<Record<string, Reader>> = {
  stl: readStl,
  glb: readGltf,
  gltf: readGltf,
  step: readStep,
  stp: readStep,
};

const endings = ".stl, .glb, .gltf, .step or .stp";

/** Files that a file in the cell's folder names relative to itself. @param local its own path in the cell's folder */
function besideOf(files: ReturnType<typeof cellFolder>, folder: string, local: string): Beside {
  return (name) => {
    const path = resolveIn(folderOf(local), name);
    if (path === undefined) return { problem: "it does not lie in the folder of the cell", outside: true };
    const got = files.read(`${folder}${path}`, LARGEST_MESH_FILE);
    return "bytes" in got ? got : { problem: got.detail, outside: got.problem === "outside" };
  };
}
