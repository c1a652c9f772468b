/** Exchange floor: other programs' files in and out. */
export { readUrdf, type UrdfArm, type UrdfOptions } from "./urdf.ts";
