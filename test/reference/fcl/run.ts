/** Runs the FCL program over pairs of samples. */
import { spawnSync } from "node:child_process";
import type { Pose } from "../../../src/math/pose.ts";
import type { Sample } from "../../clearance/random-bodies.ts";

export interface SamplePair {
  readonly a: Sample;
  readonly poseA: Pose;
  readonly b: Sample;
  readonly poseB: Pose;
}

const codes = { sphere: 0, capsule: 1, box: 2, cylinder: 3, convex: 4, mesh: 5 } as const;

/** For each pair FCL's distance (-1 where it finds contact) and whether it finds contact. */
export function runFcl(binary: string, pairs: readonly SamplePair[]): { distance: number; contact: boolean }[] {
  const samples = [...new Set(pairs.flatMap(({ a, b }) => [a, b]))];
  const number = new Map(samples.map((sample, i) => [sample, i]));
  const shape = (s: Sample) =>
    s.points.length === 0
      ? [codes[s.kind], ...s.sizes]
      : [codes[s.kind], s.points.length, s.triangles.length, ...s.points.flat(), ...s.triangles.flat()];
  const input = Float64Array.from([
    samples.length,
    ...samples.flatMap(shape),
    pairs.length,
    ...pairs.flatMap(({ a, poseA, b, poseB }) => [
      number.get(a)!,
      number.get(b)!,
      ...poseA.subarray(0, 12),
      ...poseB.subarray(0, 12),
    ]),
  ]);
  const run = spawnSync(binary, { input: Buffer.from(input.buffer), maxBuffer: 1 << 28 });
  if (run.status !== 0) throw new Error(`the FCL program failed (${run.status}, ${run.signal}): ${run.stderr}`);
  const out = new Float64Array(
    run.stdout.buffer.slice(run.stdout.byteOffset, run.stdout.byteOffset + run.stdout.length),
  );
  return pairs.map((_, i) => ({ distance: out[2 * i]!, contact: out[2 * i + 1]! === 1 }));
}
