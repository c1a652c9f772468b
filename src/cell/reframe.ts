/** Mass properties and shapes stated in one frame, restated in another. */
import { compose, type Pose } from "../math/pose.ts";
import type { InertiaDescription } from "./arm-description.ts";
import type { PlacedShape } from "./shapes.ts";

type Tensor = InertiaDescription["tensor"];

/**
 * R·I·Rᵀ of a symmetric tensor (xx, yy, zz, xy, xz, yz); `pose` gives R in its upper left 3 x 3, its translation is ignored.
 */
export function rotateTensor(pose: Pose, tensor: Tensor): Tensor {
  const [xx, yy, zz, xy, xz, yz] = tensor;
  const column = (r: number): [number, number, number] => {
    const a = pose[r]!,
      b = pose[r + 1]!,
      c = pose[r + 2]!;
    return [a * xx + b * xy + c * xz, a * xy + b * yy + c * yz, a * xz + b * yz + c * zz];
  };
  const product = (left: readonly number[], r: number) =>
    left[0]! * pose[r]! + left[1]! * pose[r + 1]! + left[2]! * pose[r + 2]!;
  const x = column(0),
    y = column(4),
    z = column(8);
  return [product(x, 0), product(y, 4), product(z, 8), product(x, 4), product(x, 8), product(y, 8)];
}

/** The same mass seen from the outer frame: centre moved and turned, tensor (about the centre) turned. */
export function reframeInertia(inertia: InertiaDescription, outerFromInner: Pose): InertiaDescription {
  const [x, y, z] = inertia.centre;
  const row = (r: number) =>
    outerFromInner[r]! * x + outerFromInner[r + 1]! * y + outerFromInner[r + 2]! * z + outerFromInner[r + 3]!;
  return {
    mass: inertia.mass,
    centre: [row(0), row(4), row(8)],
    tensor: rotateTensor(outerFromInner, inertia.tensor),
  };
}

/** The same shape owned by the outer frame. */
export function reframeShape(shape: PlacedShape, outerFromInner: Pose): PlacedShape {
  return { ...shape, ownerFromShape: compose(outerFromInner, shape.ownerFromShape) };
}

/**
 * Several masses in one frame taken as one rigid body (parallel-axis theorem). All of them massless: the mean of the
 * centres, tensors added. No parts: a massless body at the origin.
 */
export function combineInertias(parts: readonly InertiaDescription[]): InertiaDescription {
  let mass = 0;
  const weighted = [0, 0, 0];
  for (const part of parts) {
    mass += part.mass;
    for (let k = 0; k < 3; k++) weighted[k]! += part.mass * part.centre[k]!;
  }
  const centre = weighted.map((sum, k) =>
    mass > 0 ? sum / mass : parts.reduce((total, part) => total + part.centre[k]!, 0) / Math.max(1, parts.length),
  ) as [number, number, number];
  const tensor: [number, number, number, number, number, number] = [0, 0, 0, 0, 0, 0];
  for (const part of parts) {
    const x = part.centre[0] - centre[0],
      y = part.centre[1] - centre[1],
      z = part.centre[2] - centre[2],
      m = part.mass;
    const shift = [m * (y * y + z * z), m * (x * x + z * z), m * (x * x + y * y), -m * x * y, -m * x * z, -m * y * z];
    for (let k = 0; k < 6; k++) tensor[k]! += part.tensor[k]! + shift[k]!;
  }
  return { mass, centre, tensor };
}
