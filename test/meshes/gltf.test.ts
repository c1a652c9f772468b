/** glTF files are read with their nodes' transformations; broken ones are refused with the reason and never crash. */
import fc from "fast-check";
import { beforeAll, describe, expect, it } from "vitest";
import { inspectMesh, type MeshData } from "../../src/clearance/index.ts";
import { type Beside, readGltf } from "../../src/exchange/index.ts";
import { boxMesh, sphereMesh, torusMesh, volumeOf } from "./shapes.ts";
import { encoded, glb, gltfAndBin, gltfOf } from "./write-gltf.ts";

const nothing: Beside = () => ({ problem: "there is no such file", outside: false });

async function read(bytes: Uint8Array, beside: Beside = nothing): Promise<MeshData> {
  const got = await readGltf(bytes, "a.glb", beside);
  if (!got.ok) throw new Error(JSON.stringify(got.issue));
  return got.mesh;
}

async function issue(bytes: Uint8Array, beside: Beside = nothing) {
  const got = await readGltf(bytes, "a.glb", beside);
  if (got.ok) throw new Error("was read");
  return got.issue;
}

const soup = ({ vertices, indices }: MeshData) => [...indices].flatMap((i) => [...vertices.subarray(3 * i, 3 * i + 3)]);
const box = boxMesh([0.3, 0.4, 0.5], [0.05, 0, 0]);
const single = (mesh: MeshData) => ({ ...mesh, vertices: mesh.vertices.map((x) => Math.fround(x) + 0) });

describe("files that are right", () => {
  it.each([
    ["box", box],
    ["sphere", sphereMesh(0.2, 3)],
    ["torus", torusMesh(0.5, 0.1, 40, 24)],
  ])("%s as GLB: same triangles, closed, same volume", async (_, shape) => {
    const mesh = await read(await glb(gltfOf(shape)));
    expect(soup(mesh)).toEqual(soup(single(shape)));
    const report = inspectMesh(mesh.vertices, mesh.indices);
    expect(report.solid).toBe(true);
    expect(report.volume).toBeCloseTo(volumeOf(shape), 8);
  });

  it("as .gltf with the bytes beside it, with blanks in the name, and embedded", async () => {
    const { gltf, bin, name } = await gltfAndBin(gltfOf(box));
    const buffers = (uri: string) => [{ byteLength: bin.length, uri }];
    const asked: string[] = [];
    const beside: Beside = (wanted) => {
      asked.push(wanted);
      return { bytes: bin };
    };
    expect(soup(await read(encoded(gltf), beside))).toEqual(soup(single(box)));
    expect(soup(await read(encoded({ ...gltf, buffers: buffers("my%20part.bin") }), beside))).toEqual(
      soup(single(box)),
    );
    expect(asked).toEqual([name, "my part.bin"]);
    const base64 = Buffer.from(bin).toString("base64");
    const data = buffers(`data:application/octet-stream;base64,${base64}`);
    expect(soup(await read(encoded({ ...gltf, buffers: data })))).toEqual(soup(single(box)));
  });

  it("applies nested nodes: a turn, a shift, a scale; a mirror keeps faces outward", async () => {
    const placed = gltfOf(box, (node, document) => {
      const half = Math.SQRT1_2;
      const inner = document.createNode().setScale([2, 3, -1]).addChild(node);
      return document.createNode().setTranslation([1, 2, 3]).setRotation([half, 0, 0, half]).addChild(inner);
    });
    const mesh = await read(await glb(placed));
    // Scale, then a quarter turn about x (y to z, z to -y), then the shift.
    const expected = boxMesh([0.6, 0.5, 1.2], [1.1, 2, 3]);
    const sorted = (m: MeshData) =>
      Array.from({ length: 8 }, (_, i) =>
        [...m.vertices.subarray(3 * i, 3 * i + 3)].map((x) => x.toFixed(6)).join(),
      ).sort();
    expect(sorted(mesh)).toEqual(sorted(expected));
    expect(inspectMesh(mesh.vertices, mesh.indices)).toMatchObject({ solid: true, volume: expect.closeTo(0.36, 6) });
  });

  it("strips, fans, whole numbers as coordinates, and only the triangles of the scene", async () => {
    const { gltf } = await gltfAndBin(gltfOf(box));
    const bytes = new Uint8Array(12 * 8);
    const points = new Int16Array(bytes.buffer, 0, 4 * 4);
    for (const [i, p] of [
      [0, 0, 0],
      [1000, 0, 0],
      [0, 1000, 0],
      [1000, 1000, 0],
    ].entries())
      points.set(p, 4 * i);
    const file = (mode: number) =>
      encoded({
        ...gltf,
        extensionsRequired: ["KHR_mesh_quantization"],
        extensionsUsed: ["KHR_mesh_quantization"],
        buffers: [{ byteLength: bytes.length, uri: "a.bin" }],
        bufferViews: [{ buffer: 0, byteLength: 32, byteStride: 8 }],
        accessors: [
          { bufferView: 0, componentType: 5122, type: "VEC3", count: 4, min: [0, 0, 0], max: [1000, 1000, 0] },
        ],
        meshes: [
          {
            primitives: [
              { attributes: { POSITION: 0 }, mode },
              { attributes: { POSITION: 0 }, mode: 1 },
            ],
          },
        ],
        nodes: [{ mesh: 0, scale: [0.001, 0.001, 0.001] }, { mesh: 0 }],
        scenes: [{ nodes: [1] }, { nodes: [0] }],
        scene: 1,
      });
    const strip = await read(file(5), () => ({ bytes }));
    const [o, x, y, xy] = [
      [0, 0, 0],
      [1, 0, 0],
      [0, 1, 0],
      [1, 1, 0],
    ] as const;
    expect(soup(strip)).toEqual([...o!, ...x!, ...y!, ...x!, ...xy!, ...y!]);
    const fan = await read(file(6), () => ({ bytes }));
    expect(soup(fan)).toEqual([...x!, ...y!, ...o!, ...y!, ...xy!, ...o!]);
  });

  it("parts that no triangle needs may be broken", async () => {
    const { gltf, bin } = await gltfAndBin(gltfOf(box));
    const accessors = [
      ...(gltf["accessors"] as object[]),
      { bufferView: 99, componentType: 5126, type: "VEC3", count: 1e9 },
    ];
    const file = encoded({ ...gltf, accessors, images: [{ uri: "no.png" }], animations: "none", materials: [7] });
    expect(soup(await read(file, () => ({ bytes: bin })))).toEqual(soup(single(box)));
  });
});

describe("files that are wrong", () => {
  let whole: Uint8Array, gltf: Record<string, unknown>, bin: Uint8Array;
  beforeAll(async () => {
    whole = await glb(gltfOf(box));
    ({ gltf, bin } = await gltfAndBin(gltfOf(box)));
  });
  const changed = (path: string, value: unknown) => {
    const copy = structuredClone(gltf) as never;
    const keys = path.split(".");
    const last = keys.pop()!;
    (keys.reduce((at: Record<string, unknown>, key) => at[key] as never, copy) as Record<string, unknown>)[last] =
      value;
    return encoded(copy);
  };

  it("a GLB that is cut off, of another version, or without its JSON", async () => {
    expect(await issue(whole.subarray(0, whole.length - 10))).toMatchObject({
      code: "mesh-truncated",
      expected: expect.stringContaining("as the header says"),
    });
    expect(await issue(whole.subarray(0, 10))).toMatchObject({ code: "mesh-truncated", found: "10 bytes" });
    const old = whole.slice();
    old[4] = 1;
    expect(await issue(old)).toMatchObject({ code: "mesh-unsupported", found: "GLB version 1" });
    const other = whole.slice();
    other[16] = 0;
    expect(await issue(other)).toMatchObject({ code: "mesh-syntax", found: "no chunk of JSON" });
  });

  it("JSON that is broken, with its line", async () => {
    const text = new TextDecoder().decode(encoded(gltf)).replace('"meshes"', "meshes");
    const line = text.slice(0, text.indexOf("meshes")).split("\n").length;
    expect(await issue(new TextEncoder().encode(text))).toMatchObject({ code: "mesh-syntax", place: { line } });
    expect(await issue(new Uint8Array())).toMatchObject({ code: "mesh-syntax" });
  });

  it.each([
    ["asset", { version: "1.0" }, "mesh-unsupported", /asset\.version/],
    ["accessors.0.count", 1_000_000_000, "mesh-too-large", /1000000000/],
    ["accessors.0.count", 9, "mesh-syntax", /9 elements up to byte 108/],
    ["accessors.0.count", -1, "mesh-syntax", /accessors\[0\]\.count: -1/],
    ["accessors.0.type", "VEC2", "mesh-syntax", /VEC2/],
    ["accessors.0.bufferView", 7, "mesh-syntax", /bufferView: 7/],
    ["accessors.1.componentType", 5126, "mesh-syntax", /5126/],
    ["bufferViews.0.byteOffset", 1e6, "mesh-syntax", /bufferViews\[0\]: bytes 1000000/],
    ["buffers.0.byteLength", 1e6, "mesh-truncated", /buffers\[0\]/],
    ["buffers.0.uri", "data:;base64,not base 64", "mesh-syntax", /buffers\[0\]\.uri/],
    ["extensionsRequired", ["KHR_draco_mesh_compression"], "mesh-unsupported", /KHR_draco/],
    ["nodes.0.children", [0], "mesh-syntax", /nodes\[0\]: a second parent/],
    ["nodes.0.mesh", 3, "mesh-syntax", /nodes\[0\]\.mesh: 3/],
    ["nodes.0.skin", 0, "mesh-unsupported", /skin/],
    ["nodes.0.scale", [1, 1, "x"], "mesh-syntax", /nodes\[0\]\.scale/],
    ["scenes.0.nodes", [4], "mesh-syntax", /scenes\.nodes: 4/],
    ["scenes.0.nodes", [], "mesh-empty", /no triangle/],
    ["meshes.0.primitives", {}, "mesh-syntax", /primitives/],
    ["meshes.0.weights", [1], "mesh-unsupported", /weights/],
  ])("%s = %j", async (path, value, code, found) => {
    const got = await issue(changed(path, value), () => ({ bytes: bin }));
    expect(got).toMatchObject({ code, found: expect.stringMatching(found), place: { file: "a.glb" } });
  });

  it("a corner that names no vertex, and a coordinate that is no number", async () => {
    const bytes = bin.slice();
    const view = new DataView(bytes.buffer);
    view.setUint32(bytes.length - 4, 8, true);
    expect(await issue(encoded(gltf), () => ({ bytes }))).toMatchObject({ found: "a corner: vertex 8" });
    view.setUint32(bytes.length - 4, 0, true);
    view.setFloat32(0, Number.NaN, true);
    expect(await issue(encoded(gltf), () => ({ bytes }))).toMatchObject({ found: expect.stringContaining("NaN") });
  });

  it("bytes beside it that are not there or lie outside", async () => {
    expect(await issue(encoded(gltf))).toMatchObject({ code: "missing-file", mend: expect.stringContaining(".glb") });
    const outside: Beside = () => ({ problem: "it does not lie in the folder of the cell", outside: true });
    expect(await issue(encoded(gltf), outside)).toMatchObject({ code: "outside" });
  });

  it("damaged bytes are read or refused, and what is read is sound", async () => {
    const seeds = [
      whole,
      encoded({
        ...gltf,
        buffers: [{ byteLength: bin.length, uri: `data:;base64,${Buffer.from(bin).toString("base64")}` }],
      }),
    ];
    const damage = fc.record({
      of: fc.nat(1),
      cut: fc.oneof(
        { weight: 3, arbitrary: fc.constant(null) },
        { weight: 1, arbitrary: fc.double({ min: 0, max: 1, noNaN: true }) },
      ),
      changes: fc.array(fc.tuple(fc.double({ min: 0, max: 1, noNaN: true }), fc.nat(255)), { maxLength: 3 }),
    });
    const outcome = { read: 0, refused: 0 };
    await fc.assert(
      fc.asyncProperty(damage, async ({ of, cut, changes }) => {
        const bytes = seeds[of]!.slice(0, cut === null ? undefined : Math.floor(cut * seeds[of]!.length));
        for (const [at, value] of changes) if (bytes.length > 0) bytes[Math.floor(at * (bytes.length - 1))] = value;
        const got = await readGltf(bytes, "a.glb", nothing);
        if (got.ok) {
          outcome.read++;
          inspectMesh(got.mesh.vertices, got.mesh.indices);
        } else outcome.refused++;
      }),
      { seed: 12, numRuns: 1000 },
    );
    expect(outcome.read).toBeGreaterThan(50);
    expect(outcome.refused).toBeGreaterThan(50);
  });

  it("any JSON with the right keys", async () => {
    const { value } = fc.letrec((tie) => ({
      value: fc.oneof(
        { maxDepth: 4 },
        fc.nat(9),
        fc.constantFrom("VEC3", "SCALAR", "2.0", "a.bin"),
        fc.boolean(),
        fc.constant(null),
        tie("list"),
        tie("map"),
      ),
      list: fc.array(tie("value"), { maxLength: 3 }),
      map: fc.dictionary(
        fc.constantFrom(
          "mesh",
          "children",
          "primitives",
          "attributes",
          "POSITION",
          "indices",
          "count",
          "type",
          "bufferView",
          "buffer",
          "byteLength",
          "uri",
          "nodes",
          "componentType",
          "sparse",
          "values",
        ),
        tie("value"),
        { maxKeys: 5 },
      ),
    }));
    const keys = ["buffers", "bufferViews", "accessors", "meshes", "nodes", "scenes"] as const;
    await fc.assert(
      fc.asyncProperty(fc.constantFrom(...keys), value, async (key, tree) => {
        await readGltf(encoded({ ...gltf, [key]: tree }), "a.glb", () => ({ bytes: bin }));
      }),
      { seed: 13, numRuns: 600 },
    );
  });
});
