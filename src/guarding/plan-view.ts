/** Ways of approach in the plan: straight lines on the floor against the outlines of zones and panels. Metres, world axes x and y. */
import type { PlacedShape } from "../cell/shapes.ts";
import { compose, type Pose } from "../math/pose.ts";

export type Point2 = readonly [x: number, y: number];
/** Corners counter-clockwise. */
export type Outline = readonly Point2[];

/** Corners of a circle that stands for it, outside it. */
const CORNERS = 24;

/** Outline of a shape seen from above; undefined for a mesh, whose corners are in a file. */
export function outlineOf({ shape, ownerFromShape }: PlacedShape, worldFromOwner?: Pose): Outline | undefined {
  const place = worldFromOwner === undefined ? ownerFromShape : compose(worldFromOwner, ownerFromShape);
  const points: Point2[] = [];
  const add = (x: number, y: number, z: number) =>
    points.push([
      place[0]! * x + place[1]! * y + place[2]! * z + place[3]!,
      place[4]! * x + place[5]! * y + place[6]! * z + place[7]!,
    ]);
  const ring = (radius: number, z: number) => {
    const outer = radius / Math.cos(Math.PI / CORNERS);
    for (let k = 0; k < CORNERS; k++) {
      const angle = (2 * Math.PI * k) / CORNERS;
      add(outer * Math.cos(angle), outer * Math.sin(angle), z);
    }
  };
  /** A ball seen from above is a circle however it is turned. */
  const ball = (radius: number, z: number) => {
    const [x, y] = [place[2]! * z + place[3]!, place[6]! * z + place[7]!];
    const outer = radius / Math.cos(Math.PI / CORNERS);
    for (let k = 0; k < CORNERS; k++) {
      const angle = (2 * Math.PI * k) / CORNERS;
      points.push([x + outer * Math.cos(angle), y + outer * Math.sin(angle)]);
    }
  };
  switch (shape.kind) {
    case "box":
      for (const sx of [-1, 1])
        for (const sy of [-1, 1])
          for (const sz of [-1, 1]) add((sx * shape.size[0]) / 2, (sy * shape.size[1]) / 2, (sz * shape.size[2]) / 2);
      break;
    case "cylinder":
      ring(shape.radius, -shape.length / 2);
      ring(shape.radius, shape.length / 2);
      break;
    case "capsule":
      ball(shape.radius, -shape.length / 2);
      ball(shape.radius, shape.length / 2);
      break;
    case "sphere":
      ball(shape.radius, 0);
      break;
    case "convex":
      for (const [x, y, z] of shape.points) add(x, y, z);
      break;
    case "mesh":
      return undefined;
  }
  return convexOutline(points);
}

/** Convex hull, counter-clockwise (Andrew 1979). */
export function convexOutline(points: readonly Point2[]): Outline {
  const sorted = [...points].sort((a, b) => a[0] - b[0] || a[1] - b[1]);
  const half = (list: readonly Point2[]) => {
    const chain: Point2[] = [];
    for (const p of list) {
      while (chain.length >= 2 && turn(chain.at(-2)!, chain.at(-1)!, p) <= 0) chain.pop();
      chain.push(p);
    }
    chain.pop();
    return chain;
  };
  return [...half(sorted), ...half(sorted.reverse())];
}

const turn = (a: Point2, b: Point2, c: Point2) => (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0]);

/** Share of the way from `from` to `to` at which it enters an outline, 0 when it begins inside; undefined when it does not meet it. */
export function entryShare(from: Point2, to: Point2, outline: Outline): number | undefined {
  // Clipping against each edge (Cyrus & Beck 1978).
  let enter = 0,
    leave = 1;
  const [dx, dy] = [to[0] - from[0], to[1] - from[1]];
  for (let i = 0; i < outline.length; i++) {
    const a = outline[i]!,
      b = outline[(i + 1) % outline.length]!;
    const [nx, ny] = [b[1] - a[1], a[0] - b[0]];
    const distance = nx * (from[0] - a[0]) + ny * (from[1] - a[1]);
    const rate = nx * dx + ny * dy;
    if (rate === 0) {
      if (distance > 0) return undefined;
    } else if (rate < 0) enter = Math.max(enter, -distance / rate);
    else leave = Math.min(leave, -distance / rate);
    if (enter > leave) return undefined;
  }
  return outline.length < 3 ? undefined : enter;
}
