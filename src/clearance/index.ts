/**
 * Clearance floor: signed distances of solid bodies with witness points, one pair at a time, over a whole arm state, or certified
 * over a whole motion (swept).
 *
 * Model: rigid bodies: spheres, capsules, boxes, cylinders, convex hulls and triangle meshes. Double precision throughout.
 * Not computed here: deformation, tolerances of the bodies.
 */
export { type Body, boxBody, capsuleBody, cylinderBody, hullBody, meshBody, sphereBody } from "./body.ts";
export { type BodySet, type CarriedBody, createBodySet } from "./body-set.ts";
export { type Distance, distance, newDistance } from "./distance.ts";
export { type FittedCapsule, fitCapsule } from "./fit/capsule.ts";
export { fitCapsules } from "./fit/capsules.ts";
export { type HullAround, hullAround } from "./fit/hull-around.ts";
export type { MeshData, MeshLibrary } from "./mesh-library.ts";
export { inspectMesh, LARGEST_PLAUSIBLE, type MeshReport, SMALLEST_PLAUSIBLE, solidMesh } from "./mesh-report.ts";
export { standing, straightMotion } from "./swept/motions.ts";
export { createSweptScene } from "./swept/scene.ts";
export type { Slide, SweptBody, SweptMinimum, SweptMotion, SweptQuery, SweptScene } from "./swept/types.ts";
