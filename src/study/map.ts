/** A map over the floor: one value per grid point, with what it takes to draw it. Data only; the pictures are the dossier's. */

/** A named point, m, in the axes of the map. */
export interface MapMark {
  readonly name: string;
  readonly x: number;
  readonly y: number;
}

/** A line through points, m, in the axes of the map: the outline of a machine, a table, a fence. */
export interface MapOutline {
  readonly name: string;
  readonly points: readonly (readonly [x: number, y: number])[];
  /** The last point is joined to the first. */
  readonly closed: boolean;
}

export interface GridMap {
  /** "Share of the places reached with the base here". */
  readonly title: string;
  /** Words and unit of the axes, such as "x in mm": lengths below are in m whatever the label says is printed. */
  readonly xLabel: string;
  readonly yLabel: string;
  /** What the values are, with the unit: "share of the places, %". */
  readonly legend: string;
  /** Printed value = value · scale: 1000 for metres shown in mm, 100 for shares shown in %. */
  readonly scale: number;
  /** World coordinates of the first grid point and distances between neighbours, m; dx, dy > 0. */
  readonly x0: number;
  readonly y0: number;
  readonly dx: number;
  readonly dy: number;
  /** Grid points along x and y, each at least 1. */
  readonly nx: number;
  readonly ny: number;
  /** Value at (x0 + i·dx, y0 + j·dy) is values[j·nx + i]; NaN where there is none. Length nx·ny. */
  readonly values: Float64Array;
  readonly marks: readonly MapMark[];
  readonly outlines: readonly MapOutline[];
}
