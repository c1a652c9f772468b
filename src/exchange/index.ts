/** Exchange floor: other programs' files in and out. */

export { type Beside, readGltf } from "./mesh/gltf.ts";
export { type MeshFile, MOST_TRIANGLES } from "./mesh/mesh-file.ts";
export { meshOfStep, refuseStep, STEP_DEFLECTION, type StepPart } from "./mesh/step.ts";
export { readStl } from "./mesh/stl.ts";
export { readUrdf, type UrdfArm, type UrdfOptions } from "./urdf.ts";
