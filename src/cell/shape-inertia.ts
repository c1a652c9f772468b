/**
 * Mass properties of solid shapes of even density. Box, cylinder, sphere: the textbook formulas; capsule: a cylinder and two
 * half spheres (centre of a half sphere 3/8 r from its flat side); convex hull: sums over the tetrahedra between its faces and
 * the origin (Tonon, Explicit exact formulas for the 3-D tetrahedron inertia tensor, J. Math. Stat. 1(1), 2004, in their
 * equivalent covariance form).
 */
import { identityPose } from "../math/pose.ts";
import type { InertiaDescription } from "./arm-description.ts";
import { hullTriangles } from "./convex-hull.ts";
import { combineInertias, reframeInertia } from "./reframe.ts";
import type { PlacedShape, Shape } from "./shapes.ts";

/** A body in a shape's own frame, at density 1 kg/m³: its mass is the volume. */
type Body = InertiaDescription;

/** Volume, centre and inertia at density 1; undefined for a mesh (not read here) and for a hull without volume. */
export function bodyOfShape(shape: Shape): Body | undefined {
  switch (shape.kind) {
    case "box": {
      const [x, y, z] = shape.size;
      const m = x * y * z;
      return body(m, (m / 12) * (y * y + z * z), (m / 12) * (x * x + z * z), (m / 12) * (x * x + y * y));
    }
    case "cylinder": {
      const { radius: r, length: h } = shape;
      const m = Math.PI * r * r * h;
      const across = (m / 12) * (3 * r * r + h * h);
      return body(m, across, across, (m / 2) * r * r);
    }
    case "sphere": {
      const m = (4 / 3) * Math.PI * shape.radius ** 3;
      const i = 0.4 * m * shape.radius ** 2;
      return body(m, i, i, i);
    }
    case "capsule": {
      const { radius: r, length: h } = shape;
      const tube = Math.PI * r * r * h;
      const ball = (4 / 3) * Math.PI * r ** 3;
      const along = (tube / 2) * r * r + 0.4 * ball * r * r;
      // Half spheres about the capsule's centre: 2/5 r² + h²/4 + 3/8 r h for both together, per unit mass.
      const across = (tube / 12) * (3 * r * r + h * h) + ball * (0.4 * r * r + (h * h) / 4 + (3 / 8) * r * h);
      return body(tube + ball, across, across, along);
    }
    case "convex":
      return hullBody(shape.points);
    case "mesh":
      return undefined;
  }
}

/** A mass spread evenly over the volume of shapes (overlaps counted twice), in their owner's frame; undefined without volume. */
export function inertiaOfShapes(shapes: readonly PlacedShape[], mass: number): InertiaDescription | undefined {
  const bodies = shapes.flatMap(({ shape, ownerFromShape }) => {
    const own = bodyOfShape(shape);
    return own ? [reframeInertia(own, ownerFromShape ?? identityPose())] : [];
  });
  const whole = combineInertias(bodies);
  if (!(whole.mass > 0)) return undefined;
  const density = mass / whole.mass;
  return {
    mass,
    centre: whole.centre,
    tensor: whole.tensor.map((entry) => entry * density) as unknown as InertiaDescription["tensor"],
  };
}

function body(mass: number, xx: number, yy: number, zz: number): Body {
  return { mass, centre: [0, 0, 0], tensor: [xx, yy, zz, 0, 0, 0] };
}

function hullBody(points: readonly (readonly [number, number, number])[]): Body | undefined {
  const triangles = hullTriangles(points);
  if (triangles === undefined) return undefined;
  let volume = 0;
  const first = [0, 0, 0];
  /** ∫ x xᵀ dV: xx, yy, zz, xy, xz, yz. */
  const second = [0, 0, 0, 0, 0, 0];
  const pairs = [
    [0, 0],
    [1, 1],
    [2, 2],
    [0, 1],
    [0, 2],
    [1, 2],
  ] as const;
  for (const [a, b, c] of triangles) {
    const p = points[a]!,
      q = points[b]!,
      r = points[c]!;
    const v =
      (p[0] * (q[1] * r[2] - q[2] * r[1]) + p[1] * (q[2] * r[0] - q[0] * r[2]) + p[2] * (q[0] * r[1] - q[1] * r[0])) /
      6;
    volume += v;
    const sum = [p[0] + q[0] + r[0], p[1] + q[1] + r[1], p[2] + q[2] + r[2]];
    for (let k = 0; k < 3; k++) first[k]! += (v / 4) * sum[k]!;
    pairs.forEach(([i, j], k) => {
      second[k]! += (v / 20) * (p[i]! * p[j]! + q[i]! * q[j]! + r[i]! * r[j]! + sum[i]! * sum[j]!);
    });
  }
  if (!(volume > 0)) return undefined;
  const centre = first.map((moment) => moment / volume) as [number, number, number];
  const [xx, yy, zz, xy, xz, yz] = pairs.map(([i, j], k) => second[k]! - volume * centre[i]! * centre[j]!) as [
    number,
    number,
    number,
    number,
    number,
    number,
  ];
  return { mass: volume, centre, tensor: [yy + zz, xx + zz, xx + yy, -xy, -xz, -yz] };
}
