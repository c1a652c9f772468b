/** Distances of 10,000 random pairs of each two kinds of shape against the FCL library, computed live. See README.md. */
import { fileURLToPath } from "node:url";
import { expect, test } from "vitest";
import { buildFcl } from "../../../bench/build-fcl.ts";
import { distance, meshBody, newDistance } from "../../../src/clearance/index.ts";
import { mulberry32 } from "../../arms/random.ts";
import {
  type Kind,
  kinds,
  outsideBy,
  randomPlace,
  randomSample,
  reachAlong,
  type Sample,
} from "../../clearance/random-bodies.ts";
import { runFcl, type SamplePair } from "./run.ts";

const PAIRS = 10_000;
/** m */
const TOLERANCE = 1e-6;
/** Pairs of 10,000 in which FCL may be off, each proved by our own witnesses and separating plane. */
const MOST_WRONG = 5;

const build = buildFcl(
  fileURLToPath(new URL("fcl.cpp", import.meta.url)),
  fileURLToPath(new URL("build", import.meta.url)),
);
const inCi = process.env["CI"] === "true";
const note = build.ok ? "" : ` (skipped: ${build.reason})`;

/** FCL knows meshes as surfaces, so ours are compared as surfaces too. */
function surface(sample: Sample): Sample {
  if (sample.kind !== "mesh") return sample;
  const body = meshBody(Float64Array.from(sample.points.flat()), Uint32Array.from(sample.triangles.flat()), false);
  return { ...sample, body };
}

function drawPairs(first: Kind, second: Kind): SamplePair[] {
  const random = mulberry32(20240611);
  const shapes = (kind: Kind) => Array.from({ length: 60 }, () => surface(randomSample(kind, random)));
  const as = shapes(first),
    bs = shapes(second);
  const pick = (list: readonly Sample[]) => list[Math.floor(list.length * random())]!;
  return Array.from({ length: PAIRS }, () => {
    const reach = random() < 0.4 ? 0.15 : 0.6;
    return { a: pick(as), poseA: randomPlace(random, reach), b: pick(bs), poseB: randomPlace(random, reach) };
  });
}

/** Proof that the bodies are no farther apart than found (and for convex bodies no nearer), from the points alone. */
function isProved({ a, poseA, b, poseB }: SamplePair, out: Float64Array): boolean {
  const pointA = [...out.subarray(1, 4)],
    pointB = [...out.subarray(4, 7)],
    n = [...out.subarray(7, 10)];
  if (offSurface(a, poseA, pointA) > 1e-9 || offSurface(b, poseB, pointB) > 1e-9) return false;
  if (Math.abs(Math.hypot(...pointA.map((v, k) => pointB[k]! - v)) - out[0]!) > 1e-9) return false;
  if (a.kind === "mesh" || b.kind === "mesh") return true;
  const back = n.map((v) => -v);
  return Math.abs(out[0]! + reachAlong(a, poseA, n) + reachAlong(b, poseB, back)) < 1e-9;
}

function offSurface(sample: Sample, pose: Float64Array, p: readonly number[]): number {
  if (sample.kind !== "mesh") return outsideBy(sample, pose, p);
  const d = [p[0]! - pose[3]!, p[1]! - pose[7]!, p[2]! - pose[11]!];
  const local = [0, 1, 2].map((c) => pose[c]! * d[0]! + pose[c + 4]! * d[1]! + pose[c + 8]! * d[2]!);
  const area = (u: readonly number[], v: readonly number[], w: readonly number[]) => {
    const s = v.map((x, k) => x - u[k]!) as [number, number, number],
      t = w.map((x, k) => x - u[k]!) as [number, number, number];
    return Math.hypot(s[1] * t[2] - s[2] * t[1], s[2] * t[0] - s[0] * t[2], s[0] * t[1] - s[1] * t[0]);
  };
  // A point of a triangle cuts it into three whose areas add up to its own.
  const excess = sample.triangles.map(([i, j, k]) => {
    const [u, v, w] = [sample.points[i]!, sample.points[j]!, sample.points[k]!] as const;
    return area(local, u, v) + area(local, v, w) + area(local, w, u) - area(u, v, w);
  });
  return Math.min(...excess);
}

const combinations = kinds.flatMap((first, i) => kinds.slice(i).map((second) => [first, second] as const));

test.skipIf(!build.ok && !inCi).each(combinations)(
  `${PAIRS} pairs of %s and %s agree with FCL${note}`,
  (first, second) => {
    if (!build.ok) throw new Error(`FCL is required in CI: ${build.reason}`);
    const pairs = drawPairs(first, second);
    const theirs = runFcl(build.binary, pairs);
    const out = newDistance();
    let apart = 0,
      touching = 0,
      worst = 0,
      wrong = 0;
    for (const [i, pair] of pairs.entries()) {
      const { a, poseA, b, poseB } = pair;
      const d = distance(a.body, poseA, b.body, poseB, out);
      const fcl = theirs[i]!;
      if (Math.abs(d) > TOLERANCE) expect(fcl.contact, `pair ${i}, ours ${d}`).toBe(d < 0);
      if (fcl.contact || d < 0) {
        touching++;
        continue;
      }
      apart++;
      const difference = Math.abs(d - fcl.distance);
      if (difference > TOLERANCE) {
        wrong++;
        expect(isProved(pair, out), `pair ${i}, ours ${d}, FCL ${fcl.distance}`).toBe(true);
      } else worst = Math.max(worst, difference);
    }
    expect(apart).toBeGreaterThan(PAIRS / 4);
    expect(touching).toBeGreaterThan(PAIRS / 20);
    expect(wrong).toBeLessThanOrEqual(MOST_WRONG);
    if (process.env["SHOW_WORST"]) process.stderr.write(`${first}-${second}: worst ${worst}, FCL wrong ${wrong}\n`);
  },
);
