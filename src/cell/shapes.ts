/** Solid shapes as the cell file states them, each placed in the frame of whatever owns it. Lengths in metres. */
import type { Pose } from "../math/pose.ts";

export type Shape =
  /** Full edge lengths along x, y, z, centred on the origin. */
  | { readonly kind: "box"; readonly size: readonly [number, number, number] }
  /** Axis z, centred on the origin. */
  | { readonly kind: "cylinder"; readonly radius: number; readonly length: number }
  /** Axis z, centred on the origin; `length` is between the centres of the end spheres. */
  | { readonly kind: "capsule"; readonly radius: number; readonly length: number }
  | { readonly kind: "sphere"; readonly radius: number }
  /** Convex hull of points. */
  | { readonly kind: "convex"; readonly points: readonly (readonly [number, number, number])[] }
  /**
   * Triangle mesh in a file, path relative to the folder of the cell (of its first file), with the length of one file unit in
   * metres along x, y and z (STEP files, which state their unit, count as metres). `fit`: what stands for the mesh; undefined: the
   * mesh itself.
   */
  | {
      readonly kind: "mesh";
      readonly file: string;
      readonly scale: readonly [number, number, number];
      readonly fit?: MeshFit | undefined;
    };

/** A simpler body around a mesh: its convex hull, or capsules that together hold it. */
export type MeshFit = { readonly kind: "hull" } | { readonly kind: "capsules"; readonly count: number };

export interface PlacedShape {
  readonly name: string;
  readonly ownerFromShape: Pose;
  readonly shape: Shape;
}

/** Most capsules that may stand for one mesh. */
export const MOST_CAPSULES = 12;
