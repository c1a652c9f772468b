/** Exchange floor: other programs' files in and out. */
export { type MeshFile, MOST_TRIANGLES } from "./mesh/mesh-file.ts";
export { readStl } from "./mesh/stl.ts";
export { readUrdf, type UrdfArm, type UrdfOptions } from "./urdf.ts";
