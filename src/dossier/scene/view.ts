/** Directions from which a scene is drawn, and the projection onto the sheet. All are parallel projections (ISO 5456-2 and -3). */
import { cross, dot, unit } from "../../math/vectors.ts";

export type Vector = readonly [x: number, y: number, z: number];

export interface View {
  readonly name: string;
  /** Unit vectors: to the right and up on the sheet, and towards the viewer. */
  readonly right: Vector;
  readonly up: Vector;
  readonly toward: Vector;
  /** The three axes are equally foreshortened. */
  readonly isometric: boolean;
}

const along = (name: string, right: Vector, up: Vector, toward: Vector): View => ({
  name,
  right,
  up,
  toward,
  isometric: false,
});

/** Seen along an axis; "from the left" is from the side of negative x, "from the front" from that of negative y. */
export const PLAN = along("from above", [1, 0, 0], [0, 1, 0], [0, 0, 1]);
export const FRONT = along("from the front", [1, 0, 0], [0, 0, 1], [0, -1, 0]);
export const LEFT = along("from the left", [0, -1, 0], [0, 0, 1], [-1, 0, 0]);
export const BACK = along("from the back", [-1, 0, 0], [0, 0, 1], [0, 1, 0]);
export const RIGHT = along("from the right", [0, 1, 0], [0, 0, 1], [1, 0, 0]);

/** Isometric, from above the corner in front, behind, right or left. */
const corner = (name: string, x: 1 | -1, y: 1 | -1): View => facing(`isometric, from the ${name}`, [x, y, 1], true);

export const ISOMETRIC: readonly View[] = [
  corner("front right", 1, -1),
  corner("front left", -1, -1),
  corner("back right", 1, 1),
  corner("back left", -1, 1),
];

/** A view from a direction, with z up on the sheet as far as it can be. */
export function facing(name: string, direction: Vector, isometric = false): View {
  const toward = unit(direction);
  const level = cross([0, 0, 1], toward);
  const right = Math.hypot(...level) > 1e-6 ? unit(level) : ([1, 0, 0] as const);
  return { name, right, up: cross(toward, right), toward, isometric };
}

/** Where the scene stands on a picture. */
export interface Framing {
  /** Size of the picture, px. */
  readonly width: number;
  readonly height: number;
  /** px per metre. */
  readonly scale: number;
  /** What is in the middle of the picture, along right and up, m. */
  readonly middle: readonly [number, number];
  /** How far down bodies are drawn, px; default the height. */
  readonly bottom?: number;
}

/** On the picture, px from the upper left corner. */
export function onPicture(view: View, framing: Framing, x: number, y: number, z: number): [number, number] {
  const { right, up } = view;
  return [
    framing.width / 2 + (right[0] * x + right[1] * y + right[2] * z - framing.middle[0]) * framing.scale,
    framing.height / 2 - (up[0] * x + up[1] * y + up[2] * z - framing.middle[1]) * framing.scale,
  ];
}

/** The framing in which points fill a picture but for a margin, px. @param points x, y, z one after the other, m */
export function framingOf(
  view: View,
  points: ArrayLike<number>,
  width: number,
  height: number,
  margin: number,
): Framing {
  let left = Infinity,
    rightmost = -Infinity,
    low = Infinity,
    high = -Infinity;
  for (let i = 0; i < points.length; i += 3) {
    const p = [points[i]!, points[i + 1]!, points[i + 2]!] as const;
    const u = dot(view.right, p),
      v = dot(view.up, p);
    left = Math.min(left, u);
    rightmost = Math.max(rightmost, u);
    low = Math.min(low, v);
    high = Math.max(high, v);
  }
  if (left > rightmost) return { width, height, scale: 1, middle: [0, 0] };
  const scale = Math.min(
    (width - 2 * margin) / Math.max(rightmost - left, 1e-3),
    (height - 2 * margin) / Math.max(high - low, 1e-3),
  );
  return { width, height, scale, middle: [(left + rightmost) / 2, (low + high) / 2] };
}
