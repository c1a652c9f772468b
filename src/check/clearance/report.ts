/** Clearance as reported. */
import type { Cell } from "../../cell/index.ts";
import type { ClearanceReport, NearestReport } from "../result.ts";
import type { Sighting, Survey } from "./survey.ts";

/** Null when nothing could be compared. */
export function clearanceReport(cell: Cell, survey: Survey): ClearanceReport | null {
  const worst = nearestOf(survey);
  if (worst === undefined) return null;
  return {
    ...nearestReport(cell, worst),
    certified_m: Math.min(...survey.steps.map(({ lower }) => lower)),
    required_m: survey.required,
    steps: survey.steps.map(({ step, required, lower, nearest, beyond }) => ({
      step: step.id,
      required_m: required,
      certified_m: lower,
      nearest: nearest === undefined ? null : nearestReport(cell, nearest),
      beyond_m: beyond,
    })),
    notConsidered: notConsidered(cell, survey),
  };
}

/** The sighting of the least distance in the whole routine. */
export function nearestOf({ steps }: Survey): Sighting | undefined {
  let worst: Sighting | undefined;
  for (const { nearest } of steps)
    if (nearest !== undefined && (worst === undefined || nearest.upper < worst.upper)) worst = nearest;
  return worst;
}

function nearestReport(cell: Cell, sighting: Sighting): NearestReport {
  const { pair, upper, step, time, variant, target, share, witness, q } = sighting;
  const { device, slide } = pair[1];
  return {
    min_m: upper,
    pair: [pair[0].name, pair[1].name],
    step: step.id,
    time_s: time ?? null,
    variant,
    target,
    device:
      device === undefined || slide === undefined
        ? null
        : { name: device.name, from: device.stretch.from, to: device.stretch.to, share },
    points: [inWorld(cell, witness, 1), inWorld(cell, witness, 4)],
    q: [...q],
  };
}

/** A point of a distance, turned from base axes to the world's. */
export function inWorld(cell: Cell, witness: Float64Array, at: number): [number, number, number] {
  const t = cell.worldFromBase;
  const [x, y, z] = [witness[at]!, witness[at + 1]!, witness[at + 2]!];
  return [0, 4, 8].map((r) => t[r]! * x + t[r + 1]! * y + t[r + 2]! * z + t[r + 3]!) as [number, number, number];
}

function notConsidered(cell: Cell, { builder, failed }: Survey): string[] {
  const shapeless = [...cell.parts.values()].filter(({ shape }) => shape === undefined);
  return [
    ...builder.elements.meshes.map((name) => `${name}: its mesh file is not read`),
    ...builder.elements.tooLarge.map((name) => `${name}: it is too large to be followed`),
    ...shapeless.map(({ name }) => `${name}: the part states no shape`),
    ...builder.alwaysOverlap.map(([a, b]) => `${a} with ${b}: they overlap in every state of the arm`),
    ...failed.map((step) => `${step}: not every motion of it can be made`),
  ];
}
