/** glTF files of meshes, written with the library's own writer. */
import { Document, type Node, WebIO } from "@gltf-transform/core";
import type { MeshData } from "../../src/clearance/index.ts";

/** A document with one mesh below the nodes that `place` makes of it. */
export function gltfOf(
  { vertices, indices }: MeshData,
  place: (node: Node, document: Document) => Node = (node) => node,
): Document {
  const document = new Document();
  const buffer = document.createBuffer();
  const position = document.createAccessor().setType("VEC3").setArray(Float32Array.from(vertices)).setBuffer(buffer);
  const corners = document.createAccessor().setType("SCALAR").setArray(Uint32Array.from(indices)).setBuffer(buffer);
  const primitive = document.createPrimitive().setAttribute("POSITION", position).setIndices(corners);
  const node = document.createNode("part").setMesh(document.createMesh("part").addPrimitive(primitive));
  document.getRoot().setDefaultScene(document.createScene().addChild(place(node, document)));
  return document;
}

export const glb = (document: Document): Promise<Uint8Array> => new WebIO().writeBinary(document);

/** A .gltf file with its bytes in a file beside it. */
export async function gltfAndBin(
  document: Document,
): Promise<{ gltf: Record<string, unknown>; bin: Uint8Array; name: string }> {
  const { json, resources } = await new WebIO().writeJSON(document, { basename: "part" });
  const [name, bin] = Object.entries(resources)[0]!;
  return { gltf: json as unknown as Record<string, unknown>, bin, name };
}

export const encoded = (json: unknown): Uint8Array => new TextEncoder().encode(JSON.stringify(json, null, 1));
