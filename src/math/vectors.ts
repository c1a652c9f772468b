/** Vectors of three numbers as tuples, where clarity counts more than allocation; hot loops write their arithmetic out. */

export type Vector3 = readonly [x: number, y: number, z: number];

export const minus = (a: Vector3, b: Vector3): [number, number, number] => [a[0] - b[0], a[1] - b[1], a[2] - b[2]];

export const dot = (a: Vector3, b: Vector3): number => a[0] * b[0] + a[1] * b[1] + a[2] * b[2];

export const cross = (a: Vector3, b: Vector3): [number, number, number] => [
  a[1] * b[2] - a[2] * b[1],
  a[2] * b[0] - a[0] * b[2],
  a[0] * b[1] - a[1] * b[0],
];

/** The vector at length 1; not a number where it has no length. */
export function unit(v: Vector3): [number, number, number] {
  const length = Math.hypot(...v);
  return [v[0] / length, v[1] / length, v[2] / length];
}
