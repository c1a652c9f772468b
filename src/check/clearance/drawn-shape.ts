/** Bodies of the clearance floor as shapes of a scene. */
import { BOX, type Body, CYLINDER, HULL, MESH, POINT, SEGMENT } from "../../clearance/body.ts";
import { ContractError } from "../../math/contract-error.ts";
import type { SceneBody } from "./scene.ts";

/** The shape of a body in its own frame. @throws ContractError for a body of no known kind */
export function drawnShape(body: Body): SceneBody["shape"] {
  const { radius, hx, hy, hz, mesh } = body;
  switch (body.kind) {
    case POINT:
      return { kind: "sphere", radius };
    case SEGMENT:
      return { kind: "capsule", radius, length: 2 * hz };
    case BOX:
      return { kind: "box", size: [2 * hx, 2 * hy, 2 * hz] };
    case CYLINDER:
      return { kind: "cylinder", radius: hx, length: 2 * hz };
    case HULL:
      return {
        kind: "convex",
        points: Array.from(body.xs.subarray(0, body.count), (x, i) => [x, body.ys[i]!, body.zs[i]!] as const),
      };
    case MESH:
      return { kind: "triangles", vertices: mesh!.vertices, indices: mesh!.indices };
    default:
      throw new ContractError(`drawnShape: body.kind must be 0 to 5, got ${body.kind}`);
  }
}
