/** Mesh files of two million triangles: reading, looking over and building the tree; and what fitted capsules save. */
import { pathToFileURL } from "node:url";
import {
  type Body,
  capsuleBody,
  distance,
  fitCapsules,
  type MeshData,
  meshBody,
  newDistance,
  solidMesh,
} from "../src/clearance/index.ts";
import { readStl } from "../src/exchange/index.ts";
import { identityPose, translation } from "../src/math/pose.ts";
import { capsuleMesh, torusMesh } from "../test/meshes/shapes.ts";
import { binaryStl } from "../test/meshes/write-stl.ts";
import { type BenchLine, benchLine, formatBenchLine } from "./bench-line.ts";

const SMALL = 100;
const LARGE = 1000;

/** µs of a piece of work, and what it gave. */
function timed<T>(work: () => T): [us: number, result: T] {
  const start = performance.now();
  const result = work();
  return [(performance.now() - start) * 1000, result];
}

/** From the bytes of a file to a body. */
function prepare(bytes: Uint8Array): { readonly read: number; readonly tree: number; readonly body: Body } {
  const [read, got] = timed(() => readStl(bytes, "torus.stl"));
  if (!got.ok) throw new Error(got.issue.found);
  const { mesh } = got;
  const [tree, body] = timed(() => {
    const { report, indices } = solidMesh(mesh.vertices, mesh.indices);
    if (!report.solid) throw new Error("the torus is no solid");
    return meshBody(mesh.vertices, indices, true);
  });
  return { read, tree, body };
}

/** µs per distance of a capsule that circles around bodies. */
function distances(bodies: readonly { readonly body: Body; readonly pose: Float64Array }[], count: number): number {
  const probe = capsuleBody(0.05, 0.2);
  const out = newDistance();
  const [us] = timed(() => {
    for (let i = 0; i < count; i++) {
      const at = translation(0.5 * Math.cos(i), 0.5 * Math.sin(i), 0.4 * Math.sin(0.37 * i));
      for (const { body, pose } of bodies) distance(body, pose, probe, at, out);
    }
  });
  return us / count;
}

export async function run(): Promise<BenchLine[]> {
  const file = (n: number) => binaryStl(torusMesh(0.5, 0.1, n, n));
  const [small, large] = [file(SMALL), file(LARGE)];
  prepare(small);
  const one = prepare(small),
    many = prepare(large);
  const times = (LARGE / SMALL) ** 2;
  const memory = process.memoryUsage().rss / 1e6;

  const link: MeshData = capsuleMesh(0.08, 0.5, 40, 120);
  const mesh = [{ body: meshBody(link.vertices, link.indices, true), pose: identityPose() }];
  const fitted = fitCapsules(link.vertices, link.indices, 2).map(({ radius, length, pointsFromCapsule }) => ({
    body: capsuleBody(radius, length),
    pose: pointsFromCapsule,
  }));
  distances(fitted, 2000);
  const asCapsules = distances(fitted, 20_000),
    asMesh = distances(mesh, 2000);
  return [
    benchLine(
      "read 2,000,000 triangles of binary STL, vertices merged",
      many.read,
      one.read * times,
      { ratio: 0.5 },
      "reference: 100 times 20,000 triangles",
    ),
    benchLine(
      "look over and build the tree of 2,000,000 triangles",
      many.tree,
      one.tree * times,
      { ratio: 0.5 },
      "reference: 100 times 20,000 triangles",
    ),
    benchLine("memory after it", memory, undefined, { most: 1500 }, undefined, "MB"),
    benchLine(
      "distance of a link of 19,440 triangles, by fitted capsules",
      asCapsules,
      asMesh,
      { ratio: 10 },
      "reference: by its mesh",
    ),
  ];
}

if (import.meta.url === pathToFileURL(process.argv[1]!).href)
  for (const line of await run()) console.log(formatBenchLine(line));
