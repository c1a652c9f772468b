/** Convex hull of a point set as triangles, by adding one point after another (O(n · faces), for shapes of a cell file). */
import { cross, minus } from "../math/vectors.ts";

type Point = readonly [number, number, number];
type Triangle = readonly [number, number, number];

/**
 * Triangles of the hull, corners counter-clockwise seen from outside, as indices into `points`.
 * @returns undefined when the points lie in one plane (or on a line, or are fewer than four)
 */
export function hullTriangles(points: readonly Point[]): readonly Triangle[] | undefined {
  const size = extent(points);
  const tolerance = size * 1e-10;
  const seed = firstTetrahedron(points, size);
  if (seed === undefined) return undefined;
  const [a, b, c, d] = seed;
  let faces: Triangle[] = [
    [a, b, c],
    [a, c, d],
    [a, d, b],
    [b, d, c],
  ];
  if (signedDistance(points, faces[0]!, points[d]!) > 0) faces = faces.map(([p, q, r]) => [p, r, q]);
  points.forEach((point, index) => {
    if (seed.includes(index)) return;
    const visible = new Set(faces.filter((face) => signedDistance(points, face, point) > tolerance));
    if (visible.size === 0) return;
    const edges = new Set<string>();
    for (const [p, q, r] of visible)
      for (const [from, to] of [
        [p, q],
        [q, r],
        [r, p],
      ] as const)
        edges.add(`${from},${to}`);
    faces = faces.filter((face) => !visible.has(face));
    // The border of the visible region: edges whose other side is not visible.
    for (const edge of edges) {
      const [from, to] = edge.split(",").map(Number) as [number, number];
      if (!edges.has(`${to},${from}`)) faces.push([from, to, index]);
    }
  });
  return faces;
}

function extent(points: readonly Point[]): number {
  let largest = 0;
  for (let k = 0; k < 3; k++) {
    const values = points.map((point) => point[k]!);
    largest = Math.max(
      largest,
      values.reduce((x, y) => Math.max(x, y), Number.NEGATIVE_INFINITY) -
        values.reduce((x, y) => Math.min(x, y), Number.POSITIVE_INFINITY),
    );
  }
  return largest;
}

function firstTetrahedron(points: readonly Point[], size: number): [number, number, number, number] | undefined {
  const farthest = (measure: (point: Point) => number) => {
    let best = 0;
    points.forEach((point, i) => {
      if (measure(point) > measure(points[best]!)) best = i;
    });
    return measure(points[best]!) > size * 1e-9 ? best : undefined;
  };
  if (points.length < 4 || !(size > 0)) return undefined;
  const a = 0;
  const b = farthest((point) => Math.hypot(...minus(point, points[a]!)));
  if (b === undefined) return undefined;
  const along = minus(points[b]!, points[a]!);
  const length = Math.hypot(...along);
  const c = farthest((point) => Math.hypot(...cross(along, minus(point, points[a]!))) / length);
  if (c === undefined) return undefined;
  const d = farthest((point) => Math.abs(signedDistance(points, [a, b, c], point)));
  return d === undefined ? undefined : [a, b, c, d];
}

/** Distance of a point from the plane of a triangle, positive on the side from which its corners run counter-clockwise. */
function signedDistance(points: readonly Point[], [a, b, c]: Triangle, point: Point): number {
  const normal = cross(minus(points[b]!, points[a]!), minus(points[c]!, points[a]!));
  const out = minus(point, points[a]!);
  return (normal[0] * out[0] + normal[1] * out[1] + normal[2] * out[2]) / (Math.hypot(...normal) || 1);
}
