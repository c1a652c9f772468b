/** Meshes by the file they come from, so that shapes can name files and whoever may read files hands in what is in them. */

/** Triangles as a file states them. */
export interface MeshData {
  /** x, y, z of each vertex in units of the file, equal points stated once; all finite. */
  readonly vertices: Float64Array;
  /** Three vertices per triangle, at least one triangle; counter-clockwise seen from outside where the file is right. */
  readonly indices: Uint32Array;
}

/** The mesh of a file, its path relative to the folder of the cell; undefined where it has not been read. */
export type MeshLibrary = (file: string) => MeshData | undefined;
