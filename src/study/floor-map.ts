/** Maps over the floor: what a layout comes to with the base at each point of a grid, everything else as it is. */
import type { Cell } from "../cell/model.ts";
import type { PlacedShape } from "../cell/shapes.ts";
import { compose, identityPose, type Pose } from "../math/pose.ts";
import { type Axis, evenSteps } from "./axes.ts";
import type { GridMap, MapMark, MapOutline } from "./map.ts";
import type { StudyRow } from "./run-study.ts";
import type { Study } from "./study.ts";

export type MapSubject = "reach" | "clearance";

/** Half the side of the square that is mapped where a study does not say how far the base moves, m. */
const USUAL_HALF = 0.5;
export const USUAL_MAP_STEPS = 41;

/** The study whose sample is the map: the base moved over x and y, as far as the given study moves it. */
export function mapStudy(study: Study, steps = USUAL_MAP_STEPS): Study {
  const axis = (along: "x" | "y"): Axis => {
    const own = study.axes.find(({ change }) => change.kind === "base" && change.along === along);
    const from = own === undefined ? -USUAL_HALF : Math.min(...own.values);
    const to = own === undefined ? USUAL_HALF : Math.max(...own.values);
    return {
      name: `base ${along}`,
      change: { kind: "base", along },
      values: evenSteps(from, to, steps),
      continuous: true,
    };
  };
  return { ...study, axes: [axis("x"), axis("y")], sampling: { kind: "grid" }, checks: 0 };
}

/** The map of a study that `mapStudy` made. @param rows of its sample only, in order */
export function floorMap(cell: Cell, { axes }: Study, rows: readonly StudyRow[], subject: MapSubject): GridMap {
  const [xs, ys] = [axes[0]!.values, axes[1]!.values];
  const [nx, ny] = [xs.length, ys.length];
  const values = new Float64Array(nx * ny);
  // Rows have y fastest, maps have x fastest.
  for (const [k, row] of rows.entries()) {
    const i = Math.floor(k / ny),
      j = k % ny;
    values[j * nx + i] = subject === "reach" ? 1 - row.unreachable / Math.max(1, row.targets) : row.armClearance_m;
  }
  const { worldFromBase: base } = cell;
  const step = (all: readonly number[]) => (all.length > 1 ? (all.at(-1)! - all[0]!) / (all.length - 1) : 1);
  return {
    title:
      subject === "reach"
        ? "Share of the routine's targets in reach with the base here"
        : "Least clearance of the arm with the base here",
    xLabel: "x in mm",
    yLabel: "y in mm",
    legend: subject === "reach" ? "targets in reach, %" : "clearance, mm",
    scale: subject === "reach" ? 100 : 1000,
    x0: base[3]! + xs[0]!,
    y0: base[7]! + ys[0]!,
    dx: step(xs),
    dy: step(ys),
    nx,
    ny,
    values,
    marks: marksOf(cell),
    outlines: outlinesOf(cell),
  };
}

function marksOf(cell: Cell): MapMark[] {
  const middle = (poses: readonly Pose[]) => ({
    x: poses.reduce((sum, pose) => sum + pose[3]!, 0) / poses.length,
    y: poses.reduce((sum, pose) => sum + pose[7]!, 0) / poses.length,
  });
  return [
    { name: "base", x: cell.worldFromBase[3]!, y: cell.worldFromBase[7]! },
    ...[...cell.holders.values()].map(({ name, places }) => ({
      name,
      ...middle(places.map(({ worldFromPlace }) => worldFromPlace)),
    })),
  ];
}

/** Footprints of scene, machines and devices where they start; shapes from mesh files have none. */
function outlinesOf(cell: Cell): MapOutline[] {
  const outlines: MapOutline[] = [];
  const add = (name: string, worldFromOwner: Pose, { shape, ownerFromShape }: PlacedShape) => {
    const points = cornersOf(shape, compose(worldFromOwner, ownerFromShape));
    if (points.length > 0) outlines.push({ name, points: convexOutline(points), closed: true });
  };
  for (const shape of cell.scene.shapes) add(shape.name, identityPose(), shape);
  for (const machine of cell.machines.values()) {
    const frame = cell.frames.get(machine.frame)?.worldFromFrame ?? identityPose();
    for (const shape of machine.shapes) add(`${machine.name}.${shape.name}`, frame, shape);
    for (const device of machine.devices)
      for (const shape of device.shapes)
        add(`${device.name}.${shape.name}`, device.worldFromShapes.get(device.start) ?? frame, shape);
  }
  return outlines;
}

type Point = readonly [x: number, y: number];

/** Points whose hull is the footprint of a shape. */
function cornersOf(shape: PlacedShape["shape"], t: Pose): Point[] {
  const at = (x: number, y: number, z: number): Point => [
    t[0]! * x + t[1]! * y + t[2]! * z + t[3]!,
    t[4]! * x + t[5]! * y + t[6]! * z + t[7]!,
  ];
  const signs = [-1, 1] as const;
  const turns = Array.from({ length: 32 }, (_, k) => (2 * Math.PI * k) / 32);
  switch (shape.kind) {
    case "box": {
      const [x, y, z] = shape.size.map((edge) => edge / 2) as [number, number, number];
      return signs.flatMap((a) => signs.flatMap((b) => signs.map((c) => at(a * x, b * y, c * z))));
    }
    case "cylinder":
      return signs.flatMap((end) =>
        turns.map((a) => at(shape.radius * Math.cos(a), shape.radius * Math.sin(a), (end * shape.length) / 2)),
      );
    case "capsule":
    case "sphere": {
      const half = shape.kind === "capsule" ? shape.length / 2 : 0;
      return signs.flatMap((end) => {
        const [x, y] = at(0, 0, end * half);
        return turns.map((a): Point => [x + shape.radius * Math.cos(a), y + shape.radius * Math.sin(a)]);
      });
    }
    case "convex":
      return shape.points.map(([x, y, z]) => at(x, y, z));
    case "mesh":
      return [];
  }
}

/** Convex hull in the plane, counter-clockwise (monotone chain, Andrew 1979, recalled). */
function convexOutline(points: readonly Point[]): Point[] {
  const sorted = [...points].sort((a, b) => a[0] - b[0] || a[1] - b[1]);
  const half = (along: readonly Point[]): Point[] => {
    const chain: Point[] = [];
    for (const p of along) {
      while (chain.length > 1 && turn(chain.at(-2)!, chain.at(-1)!, p) <= 1e-12) chain.pop();
      chain.push(p);
    }
    return chain.slice(0, -1);
  };
  const outline = [...half(sorted), ...half([...sorted].reverse())];
  return outline.length > 0 ? outline : sorted.slice(0, 1);
}

const turn = (a: Point, b: Point, c: Point) => (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0]);
