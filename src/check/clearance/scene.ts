/** The bodies of a cell at one moment, with the two that come nearest to each other: what a picture of a clearance is drawn from. */
import type { Shape } from "../../cell/shapes.ts";
import type { Pose } from "../../math/pose.ts";

/** What a body is to the cell; decides how it is drawn. */
export type SceneGroup = "arm" | "tool" | "held part" | "part" | "machine" | "device" | "scene" | "fence" | "person";

/** A triangle mesh, lengths in metres. */
export interface SceneMesh {
  readonly kind: "triangles";
  /** x, y, z of each vertex in the frame of the body, m. */
  readonly vertices: Float64Array;
  /** Three vertices per triangle, counter-clockwise seen from outside where the mesh is closed. */
  readonly indices: Uint32Array;
}

export interface SceneBody {
  /** As in findings: "J3.forearm", "lathe.door.panel". */
  readonly name: string;
  readonly group: SceneGroup;
  readonly shape: Exclude<Shape, { kind: "mesh" }> | SceneMesh;
  readonly worldFromBody: Pose;
}

type Point = readonly [x: number, y: number, z: number];

export interface ClearanceScene {
  readonly bodies: readonly SceneBody[];
  /** Indices of the two bodies that the clearance is between; undefined: nothing is pointed out. */
  readonly pair?: readonly [number, number];
  /** The two nearest points, on the first and on the second body of the pair, world axes, m, and their signed distance, m. */
  readonly witness?: { readonly a: Point; readonly b: Point; readonly distance: number };
}
