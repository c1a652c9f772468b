/** Meshes of known size and volume, made here. */
import type { MeshData } from "../../src/clearance/index.ts";

const mesh = (points: readonly (readonly number[])[], triangles: readonly (readonly number[])[]): MeshData => ({
  vertices: Float64Array.from(points.flat()),
  indices: Uint32Array.from(triangles.flat()),
});

/** Box of full lengths about `at`; faces outward. */
export function boxMesh([x, y, z]: readonly [number, number, number], at = [0, 0, 0]): MeshData {
  const points = Array.from({ length: 8 }, (_, i) => [
    at[0]! + ((i & 1) - 0.5) * x,
    at[1]! + (((i >> 1) & 1) - 0.5) * y,
    at[2]! + (((i >> 2) & 1) - 0.5) * z,
  ]);
  const quads = [
    [0, 2, 3, 1],
    [4, 5, 7, 6],
    [0, 1, 5, 4],
    [2, 6, 7, 3],
    [0, 4, 6, 2],
    [1, 3, 7, 5],
  ];
  return mesh(
    points,
    quads.flatMap(([a, b, c, d]) => [
      [a!, b!, c!],
      [a!, c!, d!],
    ]),
  );
}

/** A grid over two angles, closed where asked: rows × columns quads, each as two triangles. */
function revolved(
  rows: number,
  columns: number,
  at: (row: number, column: number) => number[],
  ring: boolean,
): MeshData {
  const points: number[][] = [];
  const lines = ring ? rows : rows + 1;
  for (let r = 0; r < lines; r++) for (let c = 0; c < columns; c++) points.push(at(r, c));
  const id = (r: number, c: number) => (r % lines) * columns + (c % columns);
  const triangles: number[][] = [];
  for (let r = 0; r < rows; r++)
    for (let c = 0; c < columns; c++) {
      triangles.push([id(r, c), id(r + 1, c), id(r + 1, c + 1)], [id(r, c), id(r + 1, c + 1), id(r, c + 1)]);
    }
  return mesh(points, triangles);
}

/**
 * Torus about z with radii R and r, m × n facets. Its volume: each of the n rings' prisms sheared round by m steps; by Pappus for
 * a polygon, exactly n/2 r² sin(2π/n) · R · m sin(2π/m) less terms that cancel over the symmetric polygon.
 */
export function torusMesh(R: number, r: number, m: number, n: number): MeshData {
  return revolved(
    m,
    n,
    (i, j) => {
      const a = (2 * Math.PI * i) / m,
        b = (2 * Math.PI * j) / n;
      return [(R + r * Math.cos(b)) * Math.cos(a), (R + r * Math.cos(b)) * Math.sin(a), r * Math.sin(b)];
    },
    true,
  );
}

/** Capsule along z: half spheres of `rings` rings each, `columns` facets around. Poles are rows of equal points. */
export function capsuleMesh(radius: number, length: number, rings: number, columns: number): MeshData {
  const rows = 2 * rings + 1;
  return revolved(
    rows,
    columns,
    (row, column) => {
      const upper = row > rings;
      const angle = (Math.PI / 2) * ((upper ? row - 1 : row) / rings - 1);
      const around = (2 * Math.PI * column) / columns;
      const pole = row === 0 || row === rows;
      const out = pole ? 0 : radius * Math.cos(angle);
      return [
        out * Math.cos(-around),
        out * Math.sin(-around),
        radius * Math.sin(angle) + ((upper ? 1 : -1) * length) / 2,
      ];
    },
    false,
  );
}

/** Sphere from an icosahedron whose faces are split into four `times` times, all corners on the sphere. */
export function sphereMesh(radius: number, times: number): MeshData {
  const g = (1 + Math.sqrt(5)) / 2;
  const points: number[][] = [
    [-1, g, 0],
    [1, g, 0],
    [-1, -g, 0],
    [1, -g, 0],
    [0, -1, g],
    [0, 1, g],
    [0, -1, -g],
    [0, 1, -g],
    [g, 0, -1],
    [g, 0, 1],
    [-g, 0, -1],
    [-g, 0, 1],
  ];
  let triangles = [
    [0, 11, 5],
    [0, 5, 1],
    [0, 1, 7],
    [0, 7, 10],
    [0, 10, 11],
    [1, 5, 9],
    [5, 11, 4],
    [11, 10, 2],
    [10, 7, 6],
    [7, 1, 8],
    [3, 9, 4],
    [3, 4, 2],
    [3, 2, 6],
    [3, 6, 8],
    [3, 8, 9],
    [4, 9, 5],
    [2, 4, 11],
    [6, 2, 10],
    [8, 6, 7],
    [9, 8, 1],
  ];
  for (let i = 0; i < times; i++) {
    const between = new Map<number, number>();
    const middle = (a: number, b: number) => {
      const key = Math.min(a, b) * 1e7 + Math.max(a, b);
      const known = between.get(key);
      if (known !== undefined) return known;
      points.push([0, 1, 2].map((k) => points[a]![k]! + points[b]![k]!));
      const scale = 1 / Math.hypot(...points.at(-1)!);
      points[points.length - 1] = points.at(-1)!.map((value) => value * scale * Math.hypot(1, g));
      between.set(key, points.length - 1);
      return points.length - 1;
    };
    triangles = triangles.flatMap(([a, b, c]) => {
      const ab = middle(a!, b!),
        bc = middle(b!, c!),
        ca = middle(c!, a!);
      return [
        [a!, ab, ca],
        [ab, b!, bc],
        [ca, bc, c!],
        [ab, bc, ca],
      ];
    });
  }
  const scale = radius / Math.hypot(1, g);
  return mesh(
    points.map((p) => p.map((value) => value * scale)),
    triangles,
  );
}

/** Every triangle from its other side. */
export const turnedOver = ({ vertices, indices }: MeshData): MeshData => ({
  vertices,
  indices: indices.map((_, i) => indices[i % 3 === 0 ? i : i % 3 === 1 ? i + 1 : i - 1]!),
});

/** Both meshes in one. */
export const together = (a: MeshData, b: MeshData): MeshData => ({
  vertices: Float64Array.from([...a.vertices, ...b.vertices]),
  indices: Uint32Array.from([...a.indices, ...b.indices.map((i) => i + a.vertices.length / 3)]),
});

/** Volume by the divergence theorem, summed over triangles: independent of the code under test. */
export function volumeOf({ vertices: v, indices }: MeshData): number {
  let six = 0;
  for (let t = 0; t < indices.length; t += 3) {
    const [a, b, c] = [0, 1, 2].map((k) => [0, 1, 2].map((d) => v[3 * indices[t + k]! + d]!)) as [
      number[],
      number[],
      number[],
    ];
    six +=
      a[0]! * (b[1]! * c[2]! - b[2]! * c[1]!) +
      a[1]! * (b[2]! * c[0]! - b[0]! * c[2]!) +
      a[2]! * (b[0]! * c[1]! - b[1]! * c[0]!);
  }
  return six / 6;
}
