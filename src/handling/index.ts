/** The handling floor: whether a gripper holds its part. Computed: the force of friction grips. */
export { type FrictionGrip, forcePerJaw } from "./grip.ts";
