/**
 * Clearance floor: signed distances of solid bodies with witness points, one pair at a time or over a whole arm state.
 *
 * Model: rigid bodies at rest: spheres, capsules, boxes, cylinders, convex hulls and triangle meshes. Double precision throughout.
 * Not computed here: motion between two states (swept clearance), deformation, tolerances of the bodies.
 */
export { type Body, boxBody, capsuleBody, cylinderBody, hullBody, meshBody, sphereBody } from "./body.ts";
export { type BodySet, type CarriedBody, createBodySet } from "./body-set.ts";
export { type Distance, distance, newDistance } from "./distance.ts";
export { inspectMesh, LARGEST_PLAUSIBLE, type MeshReport, SMALLEST_PLAUSIBLE } from "./mesh-report.ts";
