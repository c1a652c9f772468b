/** A scene of routes as the program of ompl.cpp reads it. */
import { hullTriangles } from "../../../src/cell/convex-hull.ts";
import { BOX, type Body, CYLINDER, HULL, MESH, POINT, SEGMENT } from "../../../src/clearance/body.ts";
import type { SweptBody } from "../../../src/clearance/swept/types.ts";
import { compose, identityPose, type Pose } from "../../../src/math/pose.ts";
import type { RouteScene } from "../../../src/route/types.ts";

/** @throws Error when the scene has slides, which the program does not know */
export function sceneText({ arm, bodies, slides, pairs }: RouteScene): string {
  if (slides.length > 0) throw new Error("sceneText: bodies that slide are not compared");
  const joints = Array.from({ length: arm.n }, (_, i) =>
    [arm.prismatic[i], numbers(arm.fixed.subarray(12 * i, 12 * i + 12)), arm.min[i], arm.max[i]].join(" "),
  );
  return [
    arm.n,
    ...joints,
    numbers(arm.fixed.subarray(12 * arm.n)),
    bodies.length,
    ...bodies.map(
      (body) => `${body.frame} ${numbers(placeInKernelFrame(arm.describedFromKernel, body))} ${shapeText(body.body)}`,
    ),
    pairs.length,
    ...pairs.map((pair) => pair.join(" ")),
    "",
  ].join("\n");
}

const numbers = (list: Float64Array) => list.subarray(0, 12).join(" ");

/** The program's frames have their z along the joint axis; the description's are turned against them. */
function placeInKernelFrame(describedFromKernel: Float64Array, { frame, frameFromBody }: SweptBody): Pose {
  if (frame < 0 || 9 * frame >= describedFromKernel.length) return frameFromBody;
  const kernelFromDescribed = identityPose();
  for (let r = 0; r < 3; r++)
    for (let c = 0; c < 3; c++) kernelFromDescribed[4 * r + c] = describedFromKernel[9 * frame + 3 * c + r]!;
  return compose(kernelFromDescribed, frameFromBody);
}

function shapeText({ kind, radius, hx, hy, hz, xs, ys, zs, count, mesh }: Body): string {
  switch (kind) {
    case POINT:
      return `sphere ${radius}`;
    case SEGMENT:
      return `capsule ${radius} ${2 * hz}`;
    case BOX:
      return `box ${2 * hx} ${2 * hy} ${2 * hz}`;
    case CYLINDER:
      return `cylinder ${hx} ${2 * hz}`;
    case HULL: {
      const points = Array.from({ length: count }, (_, i) => [xs[i]!, ys[i]!, zs[i]!] as const);
      return facesText("convex", points.flat(), hullTriangles(points)!.flat());
    }
    case MESH:
      return facesText("mesh", mesh!.vertices, mesh!.indices);
    default:
      throw new Error(`sceneText: no shape of kind ${kind}`);
  }
}

const facesText = (kind: string, coordinates: ArrayLike<number>, corners: ArrayLike<number>) =>
  `${kind} ${coordinates.length / 3} ${corners.length / 3} ${Array.from(coordinates).join(" ")} ${Array.from(corners).join(" ")}`;
