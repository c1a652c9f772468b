/**
 * glTF 2.0 files, .gltf and .glb: the triangles of the default scene, with the transformations of its nodes applied. Coordinates
 * stay as the file has them: the standard's y axis points up, and no rotation is added to it. The standard's unit is the metre.
 * Materials, textures, cameras and animations are not looked at. Refused, because the geometry would come out wrong without
 * them: compressed geometry, skins, morph targets in use, instancing.
 */
import { BufferUtils, type Document, type Node, type Primitive, WebIO } from "@gltf-transform/core";
import { isGlb, openGlb } from "./glb.ts";
import { type Checked, checkAccessor } from "./gltf-buffers.ts";
import { MeshBuilder } from "./mesh-builder.ts";
import { finished, type MeshFile, MOST_TRIANGLES, tooManyTriangles, wrongMesh } from "./mesh-file.ts";
import { broken, countAt, EXPORT_AGAIN, entryAt, listAt, objectAt, WrongGltf } from "./wrong-gltf.ts";

/** Bytes of a file that the glTF file names beside itself, or why there are none. */
export type Beside = (
  name: string,
) => { readonly bytes: Uint8Array } | { readonly problem: string; readonly outside: boolean };

type Json = { readonly [key: string]: unknown };

/** Extensions without which triangles are the same. */
const WITHOUT_EFFECT = /^(KHR_materials_|KHR_texture_|EXT_texture_|KHR_lights_|KHR_xmp)|^KHR_mesh_quantization$/;
const DEEPEST = 200;

/** Never throws, whatever the bytes. @param file name for messages @param beside for buffers in files of their own */
export async function readGltf(bytes: Uint8Array, file: string, beside: Beside): Promise<MeshFile> {
  try {
    const { json, rest } = isGlb(bytes) ? openGlb(bytes) : { json: bytes, rest: undefined };
    const root = objectAt(parse(json), "the file");
    requirePlain(root);
    const buffers = readBuffers(root, rest, beside);
    const { reduced, triangles } = reduce(
      root,
      buffers.map((buffer) => buffer.length),
    );
    if (triangles > MOST_TRIANGLES) return tooManyTriangles(file, 1, `${triangles} triangles`);
    const io = new WebIO();
    const resources = Object.fromEntries(buffers.map((buffer, i) => [`${i}.bin`, new Uint8Array(buffer)]));
    const document = await io.readJSON({ json: reduced as never, resources });
    return finished(collect(document), file);
  } catch (wrong) {
    if (wrong instanceof WrongGltf) {
      const { code, line, found, expected, mend } = wrong;
      return wrongMesh(code, file, line, found, expected, mend);
    }
    // Whatever the checks before let through that the library cannot read.
    const reason = wrong instanceof Error ? wrong.message : String(wrong);
    return wrongMesh("mesh-syntax", file, 1, reason.slice(0, 120), "a glTF 2.0 file", EXPORT_AGAIN);
  }
}

function parse(bytes: Uint8Array): unknown {
  let text: string;
  try {
    text = BufferUtils.decodeText(bytes);
    return JSON.parse(text.replace(/^\ufeff/, "").replace(/[\0\s]+$/, ""));
  } catch (error) {
    const reason = error instanceof Error ? error.message : String(error);
    const position = /position (\d+)/.exec(reason)?.[1];
    const line = position === undefined ? 1 : text!.slice(0, Number(position)).split("\n").length;
    throw new WrongGltf("mesh-syntax", reason.slice(0, 120), "JSON", EXPORT_AGAIN, line);
  }
}

function requirePlain(root: Json): void {
  const { version } = objectAt(root["asset"], "asset") as { version?: unknown };
  if (typeof version !== "string" || !/^2\./.test(version))
    throw new WrongGltf(
      "mesh-unsupported",
      `asset.version: ${JSON.stringify(version)}`,
      '"2.0"',
      "Export it as glTF 2.0.",
    );
  for (const name of listAt(root["extensionsRequired"], "extensionsRequired"))
    if (typeof name !== "string" || !WITHOUT_EFFECT.test(name))
      throw new WrongGltf(
        "mesh-unsupported",
        `the required extension ${String(name).slice(0, 60)}`,
        "plain triangles",
        "Export it without compression or other extensions of the geometry.",
      );
}

/** Bytes of every buffer, at least as many as it states. */
function readBuffers(root: Json, rest: Uint8Array | undefined, beside: Beside): readonly Uint8Array[] {
  return listAt(root["buffers"], "buffers").map((value, i) => {
    const at = `buffers[${i}]`;
    const buffer = objectAt(value, at);
    const length = countAt(buffer["byteLength"], `${at}.byteLength`);
    const { uri } = buffer;
    let bytes: Uint8Array;
    if (uri === undefined) {
      if (i > 0 || rest === undefined)
        throw broken(`${at}.uri`, "nothing", "a file name, or bytes behind a GLB's JSON");
      bytes = rest;
    } else if (typeof uri !== "string") throw broken(`${at}.uri`, JSON.stringify(uri).slice(0, 40), "a text");
    else if (/^data:/i.test(uri)) bytes = embedded(uri, at);
    else bytes = besideOf(uri, at, beside);
    if (bytes.length < length)
      throw new WrongGltf(
        "mesh-truncated",
        `${at}: ${bytes.length} bytes`,
        `${length} bytes, as the file says`,
        "The file was cut off: copy or export it again.",
      );
    return bytes.subarray(0, length);
  });
}

function embedded(uri: string, at: string): Uint8Array {
  const text = /^data:[^,]*;base64,([A-Za-z0-9+/]*={0,2})$/.exec(uri)?.[1];
  if (text === undefined) throw broken(`${at}.uri`, `${uri.slice(0, 40)}…`, "data:…;base64, and base64 text");
  return BufferUtils.createBufferFromDataURI(uri);
}

function besideOf(uri: string, at: string, beside: Beside): Uint8Array {
  let name = uri;
  try {
    name = decodeURIComponent(uri);
  } catch {
    // A bare "%" stands for itself.
  }
  const got = beside(name);
  if ("bytes" in got) return got.bytes;
  throw new WrongGltf(
    got.outside ? "outside" : "missing-file",
    `${at}.uri: ${name.slice(0, 80)} (${got.problem})`,
    "a file in the folder of the cell or below it",
    "Put the file beside the .gltf file, or export it as .glb, which holds everything.",
  );
}

/** The file with only what makes triangles, checked, and how many triangles its scene has. */
function reduce(root: Json, sizes: readonly number[]): { readonly reduced: Json; readonly triangles: number } {
  const checked: Checked = { accessors: new Map(), views: new Set(), elements: 0 };
  const meshes = listAt(root["meshes"], "meshes").map((value, i) =>
    reduceMesh(root, objectAt(value, `meshes[${i}]`), i, sizes, checked),
  );
  const nodes = listAt(root["nodes"], "nodes").map((value, i) => reduceNode(root, objectAt(value, `nodes[${i}]`), i));
  const scenes = listAt(root["scenes"], "scenes");
  const children = new Set(nodes.flatMap((node) => node.children));
  const roots =
    scenes.length === 0
      ? nodes.flatMap((_, i) => (children.has(i) ? [] : [i]))
      : listAt(entryAt(scenes, root["scene"] ?? 0, "scene", "scenes")["nodes"], "scenes.nodes").map((node) =>
          countAt(node, "scenes.nodes"),
        );
  let triangles = 0;
  const seen = new Set<number>();
  const open = roots.map((node) => ({ node, depth: 0 }));
  for (let at = open.pop(); at !== undefined; at = open.pop()) {
    const node = nodes[at.node];
    if (node === undefined) throw broken("scenes.nodes", `${at.node}`, `one of the ${nodes.length} nodes`);
    if (seen.has(at.node) || at.depth > DEEPEST)
      throw broken(`nodes[${at.node}]`, "a second parent, or nodes too deep", "a tree of nodes");
    seen.add(at.node);
    if (node.mesh !== undefined) triangles += meshes[node.mesh]!.triangles;
    for (const child of node.children) open.push({ node: child, depth: at.depth + 1 });
  }
  // What no triangle needs is not read either, so its faults do no harm.
  const written = listAt(root["bufferViews"], "bufferViews");
  const oneView = [...checked.views].map((k) => written[k])[0];
  const only = (value: unknown) => withoutExtras(objectAt(value, "the file"));
  return {
    triangles,
    reduced: {
      asset: { version: "2.0" },
      buffers: sizes.map((byteLength, i) => ({ byteLength, uri: `${i}.bin` })),
      bufferViews: oneView === undefined ? [] : written.map((view, k) => only(checked.views.has(k) ? view : oneView)),
      accessors: listAt(root["accessors"], "accessors").map((accessor, k) =>
        checked.accessors.has(k) ? only(accessor) : { componentType: 5126, type: "SCALAR", count: 0 },
      ),
      meshes: meshes.map(({ primitives }) => ({ primitives })),
      nodes: nodes.map(({ placed }) => placed),
      scene: 0,
      scenes: [{ nodes: roots }],
    },
  };
}

const withoutExtras = ({ extensions: _, extras: __, name: ___, ...rest }: Json): Json => rest;

function reduceMesh(root: Json, mesh: Json, i: number, sizes: readonly number[], checked: Checked) {
  const at = `meshes[${i}].primitives`;
  let triangles = 0;
  const primitives = listAt(mesh["primitives"], at).flatMap((value, k) => {
    const where = `${at}[${k}]`;
    const primitive = objectAt(value, where);
    const mode = countAt(primitive["mode"], `${where}.mode`, 0, 4);
    // Points and lines enclose nothing.
    if (mode < 4) return [];
    if (mode > 6) throw broken(`${where}.mode`, `${mode}`, "0 to 6");
    if (listAt(mesh["weights"], `meshes[${i}].weights`).some((weight) => weight !== 0))
      throw new WrongGltf(
        "mesh-unsupported",
        `meshes[${i}].weights`,
        "no morph targets in use",
        "Export the shape as it stands.",
      );
    const position = objectAt(primitive["attributes"], `${where}.attributes`)["POSITION"];
    if (position === undefined) throw broken(`${where}.attributes`, "no POSITION", "POSITION");
    const points = checkAccessor(root, position, `${where}.attributes.POSITION`, "VEC3", sizes, checked);
    const indices = primitive["indices"];
    const corners =
      indices === undefined ? points : checkAccessor(root, indices, `${where}.indices`, "SCALAR", sizes, checked);
    triangles += mode === 4 ? Math.floor(corners / 3) : Math.max(0, corners - 2);
    return [{ mode, attributes: { POSITION: position }, ...(indices !== undefined && { indices }) }];
  });
  return { primitives, triangles };
}

function reduceNode(root: Json, node: Json, i: number) {
  const at = `nodes[${i}]`;
  if (node["skin"] !== undefined)
    throw new WrongGltf(
      "mesh-unsupported",
      `${at}.skin`,
      "no skins",
      "Export the shape as it stands, without its skeleton.",
    );
  const extensions = node["extensions"];
  if (extensions !== undefined && "EXT_mesh_gpu_instancing" in objectAt(extensions, `${at}.extensions`))
    throw new WrongGltf(
      "mesh-unsupported",
      `${at}: EXT_mesh_gpu_instancing`,
      "plain nodes",
      "Export it without instancing.",
    );
  const mesh = node["mesh"] === undefined ? undefined : countAt(node["mesh"], `${at}.mesh`);
  if (mesh !== undefined) entryAt(listAt(root["meshes"], "meshes"), mesh, `${at}.mesh`, "meshes");
  const children = listAt(node["children"], `${at}.children`).map((child) => countAt(child, `${at}.children`));
  const placed: Record<string, unknown> = {
    ...(mesh !== undefined && { mesh }),
    ...(children.length > 0 && { children }),
  };
  for (const [key, length] of [
    ["matrix", 16],
    ["translation", 3],
    ["rotation", 4],
    ["scale", 3],
  ] as const) {
    const value = node[key];
    if (value === undefined) continue;
    const list = listAt(value, `${at}.${key}`);
    if (list.length !== length || !list.every((entry) => Number.isFinite(entry)))
      throw broken(`${at}.${key}`, JSON.stringify(list).slice(0, 60), `${length} numbers`);
    placed[key] = list;
  }
  return { mesh, children, placed };
}

function collect(document: Document) {
  const builder = new MeshBuilder();
  const scene = document.getRoot().getDefaultScene();
  const open: Node[] = scene === null ? [] : [...scene.listChildren()].reverse();
  for (let node = open.pop(); node !== undefined; node = open.pop()) {
    open.push(...[...node.listChildren()].reverse());
    const matrix = node.getWorldMatrix();
    for (const primitive of node.getMesh()?.listPrimitives() ?? []) add(builder, primitive, matrix);
  }
  return builder.finish();
}

function add(builder: MeshBuilder, primitive: Primitive, m: readonly number[]): void {
  const position = primitive.getAttribute("POSITION")!;
  const indices = primitive.getIndices();
  const count = indices?.getCount() ?? position.getCount();
  const points = position.getCount();
  const element = [0, 0, 0];
  const corner = (i: number) => {
    const vertex = indices === null ? i : indices.getScalar(i);
    if (vertex >= points) throw broken("a corner", `vertex ${vertex}`, `a number below ${points}`);
    const [x, y, z] = position.getElement(vertex, element) as [number, number, number];
    const at = (row: 0 | 1 | 2) => m[row]! * x + m[row + 4]! * y + m[row + 8]! * z + m[row + 12]!;
    const out = [at(0), at(1), at(2)] as const;
    if (!out.every(Number.isFinite)) throw broken(`vertex ${vertex}`, `(${x}, ${y}, ${z})`, "finite coordinates");
    builder.corner(...out);
  };
  // A transformation that mirrors turns every face over (glTF 2.0, section 3.7.4).
  const mirrored = determinant(m) < 0;
  const triangle = (a: number, b: number, c: number) => {
    corner(a);
    corner(mirrored ? c : b);
    corner(mirrored ? b : c);
  };
  const mode = primitive.getMode();
  if (mode === 4) for (let i = 0; i + 2 < count; i += 3) triangle(i, i + 1, i + 2);
  else if (mode === 5) for (let i = 0; i + 2 < count; i++) triangle(i, i + 1 + (i % 2), i + 2 - (i % 2));
  else for (let i = 1; i + 1 < count; i++) triangle(i, i + 1, 0);
}

const determinant = (m: readonly number[]) =>
  m[0]! * (m[5]! * m[10]! - m[6]! * m[9]!) -
  m[4]! * (m[1]! * m[10]! - m[2]! * m[9]!) +
  m[8]! * (m[1]! * m[6]! - m[2]! * m[5]!);
