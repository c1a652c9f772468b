/**
 * What stands for a shape from a mesh file when clearances are computed: the mesh as a solid where it can be one, its surface
 * where not, or the body that is fitted around it.
 */
import type { Shape } from "../../cell/index.ts";
import {
  type Body,
  capsuleBody,
  fitCapsules,
  hullAround,
  hullBody,
  type MeshData,
  type MeshReport,
  meshBody,
  solidMesh,
} from "../../clearance/index.ts";
import { identityPose, type Pose } from "../../math/pose.ts";

type MeshShape = Extract<Shape, { kind: "mesh" }>;

/** Bodies for one shape, each in the shape's frame, and what was found when the mesh was looked over. */
export interface PreparedMesh {
  readonly bodies: readonly { readonly body: Body; readonly shapeFromBody: Pose }[];
  readonly report: MeshReport;
  /** Number of bodies fitted and their volumes added up, and the volume of the convex hull, m³; undefined where nothing was. */
  readonly fitted: { readonly count: number; readonly volume: number; readonly hullVolume: number } | undefined;
  /** Of the shape: length of one unit of the file along x, y and z, m. */
  readonly scale: readonly [number, number, number];
}

const prepared = new WeakMap<MeshData, Map<string, PreparedMesh>>();

/** Bodies of a shape in m. The same mesh with the same scale and fit is prepared once. */
export function prepareMesh(shape: MeshShape, mesh: MeshData): PreparedMesh {
  const key = JSON.stringify([shape.scale, shape.fit]);
  const known = prepared.get(mesh) ?? new Map<string, PreparedMesh>();
  prepared.set(mesh, known);
  const old = known.get(key);
  if (old !== undefined) return old;
  const fresh = prepare(shape, mesh);
  known.set(key, fresh);
  return fresh;
}

function prepare({ scale, fit }: MeshShape, mesh: MeshData): PreparedMesh {
  const vertices = mesh.vertices.map((value, i) => value * scale[i % 3]!);
  const mirrored = scale[0] * scale[1] * scale[2] < 0;
  const indices = mirrored ? turnedOver(mesh.indices) : mesh.indices;
  const { report, indices: outward } = solidMesh(vertices, indices);
  const shapeFromBody = identityPose();
  if (fit === undefined)
    return {
      bodies: [{ body: meshBody(vertices, outward, report.closed), shapeFromBody }],
      report,
      fitted: undefined,
      scale,
    };
  const hull = hullAround(vertices, indices);
  const hullVolume = hull.volume;
  if (fit.kind === "hull")
    return {
      bodies: [{ body: hullBody(hull.points), shapeFromBody }],
      report,
      fitted: { count: 1, volume: hullVolume, hullVolume },
      scale,
    };
  const capsules = fitCapsules(vertices, indices, fit.count);
  return {
    bodies: capsules.map(({ radius, length, pointsFromCapsule }) => ({
      body: capsuleBody(radius, length),
      shapeFromBody: pointsFromCapsule,
    })),
    report,
    fitted: { count: capsules.length, volume: capsules.reduce((sum, { volume }) => sum + volume, 0), hullVolume },
    scale,
  };
}

/** Every triangle seen from its other side. */
function turnedOver(indices: Uint32Array): Uint32Array {
  const out = indices.slice();
  for (let t = 0; t < out.length; t += 3) {
    out[t + 1] = indices[t + 2]!;
    out[t + 2] = indices[t + 1]!;
  }
  return out;
}
