/** Distances of single pairs and of whole arm states, against FCL's C++ in the same run. */
import { spawnSync } from "node:child_process";
import { pathToFileURL } from "node:url";
import { hullTriangles } from "../src/cell/convex-hull.ts";
import { type Body, boxBody, capsuleBody, distance, hullBody, meshBody, newDistance } from "../src/clearance/index.ts";
import { mulberry32, randomDirection, randomPose } from "../test/arms/random.ts";
import { ring, sceneBodies, sceneFrames, scenePairs, sceneSet, sceneStates } from "../test/clearance/bench-scene.ts";
import { type BenchLine, benchLine, formatBenchLine } from "./bench-line.ts";
import { buildFcl } from "./build-fcl.ts";

const PLACEMENTS = 1000;
/** Passes over all work in one turn, and turns of FCL and ours one after the other; the fastest pass of each counts. */
const PASSES = 5;
const OUR_PASSES = 30;
const TURNS = 4;

interface Shape {
  readonly body: Body;
  /** As bench/clearance.cpp reads it. */
  readonly text: string;
}

type Points = readonly (readonly [number, number, number])[];

const corners = (kind: string, points: Points, triangles: readonly (readonly number[])[]) =>
  `${kind} ${points.length} ${triangles.length} ${points.flat().join(" ")} ${triangles.flat().join(" ")}`;

const capsule = (r: number, l: number): Shape => ({ body: capsuleBody(r, l), text: `capsule ${r} ${l}` });
const box = (size: readonly [number, number, number]): Shape => ({
  body: boxBody(size),
  text: `box ${size.join(" ")}`,
});

/** Hull of `n` points on an ellipsoid, all of them corners. */
function hull(n: number, random: () => number): Shape {
  const points = Array.from({ length: n }, () => {
    const [x, y, z] = randomDirection(random);
    return [0.1 * x, 0.15 * y, 0.2 * z] as const;
  });
  return { body: hullBody(points), text: corners("convex", points, hullTriangles(points)!) };
}

function torus(): Shape {
  const { vertices, indices } = ring(50, 20);
  const points = Array.from(
    { length: vertices.length / 3 },
    (_, i) => [vertices[3 * i]! - 1.25, vertices[3 * i + 1]!, vertices[3 * i + 2]! - 0.3] as const,
  );
  const triangles = Array.from({ length: indices.length / 3 }, (_, t) => [...indices.subarray(3 * t, 3 * t + 3)]);
  return {
    body: meshBody(Float64Array.from(points.flat()), indices, false),
    text: corners("mesh", points, triangles),
  };
}

/** Placements that are apart, as most are in a cell. */
function placements(a: Shape, b: Shape, random: () => number): [Float64Array, Float64Array][] {
  const out = newDistance();
  const found: [Float64Array, Float64Array][] = [];
  while (found.length < PLACEMENTS) {
    const pair: [Float64Array, Float64Array] = [randomPose(random, 0.5), randomPose(random, 0.5)];
    if (distance(a.body, pair[0], b.body, pair[1], out) > 0.001) found.push(pair);
  }
  return found;
}

const matrix = (pose: Float64Array) => pose.subarray(0, 12).join(" ");

function pairKinds() {
  const random = mulberry32(2024);
  const kinds = [
    { name: "capsule-capsule", a: capsule(0.05, 0.4), b: capsule(0.04, 0.3) },
    { name: "box-capsule", a: box([0.3, 0.4, 0.2]), b: capsule(0.05, 0.4) },
    { name: "hull-hull, 50 corners each", a: hull(50, random), b: hull(50, random) },
    { name: "mesh-capsule, 2,000 triangles", a: torus(), b: capsule(0.04, 0.3) },
  ];
  return kinds.map((kind) => ({ ...kind, places: placements(kind.a, kind.b, random) }));
}

function sceneText(): string {
  const bodies = sceneBodies();
  const { vertices, indices } = ring(50, 20);
  const ringText = `mesh ${vertices.length / 3} ${indices.length / 3} ${vertices.join(" ")} ${indices.join(" ")}`;
  const shape = ({ hx, hy, hz, radius, kind }: Body) =>
    [`sphere`, `capsule ${radius} ${2 * hz}`, `box ${2 * hx} ${2 * hy} ${2 * hz}`, `cylinder ${hx} ${2 * hz}`][kind] ??
    ringText;
  const states = sceneStates();
  return [
    bodies.length,
    ...bodies.map((b) => `${b.frame ?? -1} ${matrix(b.frameFromBody)} ${shape(b.body)}`),
    scenePairs(bodies).length,
    ...scenePairs(bodies).map((pair) => pair.join(" ")),
    states.length,
    ...states.map((q) => q.join(" ")),
  ].join("\n");
}

let sink = 0;

/** Fastest of the passes over so many pieces, µs per piece. */
function fastest(pieces: number, pass: () => number): number {
  let best = Number.POSITIVE_INFINITY;
  for (let turn = 0; turn < OUR_PASSES; turn++) {
    const start = performance.now();
    sink += pass();
    best = Math.min(best, ((performance.now() - start) * 1000) / pieces);
  }
  return best;
}

/** FCL's times, µs, in the order of ours, its distances of the single pairs and least distances, and how many states collide. */
function askFcl(binary: string, input: string, pairs: number) {
  const run = spawnSync(binary, { input, encoding: "utf8", maxBuffer: 1 << 28 });
  if (run.status !== 0) throw new Error(`FCL bench program failed: ${run.stderr}`);
  const lines = run.stdout
    .trim()
    .split("\n")
    .map((line) => line.split(" ").map(Number));
  const [boolean, colliding, minimum, ...least] = lines[pairs]!;
  const singles = lines.slice(0, pairs);
  return {
    times: [...singles.map((line) => line[0]!), boolean!, minimum!].map((ns) => ns / 1000),
    distances: singles.map((line) => line.slice(1)),
    colliding: colliding!,
    least,
  };
}

/** All lines of this benchmark. */
export async function run(): Promise<BenchLine[]> {
  const fcl = buildFcl(new URL("clearance.cpp", import.meta.url).pathname);
  const kinds = pairKinds();
  const states = sceneStates();
  const set = sceneSet();
  const frames = new Float64Array(84);
  const out = newDistance();
  const check = (q: Float64Array) => {
    set.place(sceneFrames(q, frames));
    return set.collides() ? 1 : 0;
  };
  const least = (q: Float64Array) => {
    set.place(sceneFrames(q, frames));
    return set.minimumDistance(out);
  };
  const free = states.filter((q) => check(q) === 0);
  const input = [
    PASSES,
    kinds.length,
    ...kinds.map(
      ({ a, b, places }) =>
        `${a.text} ${b.text} ${places.length}\n${places.map(([p, q]) => `${matrix(p)} ${matrix(q)}`).join("\n")}`,
    ),
    sceneText(),
    "",
  ].join("\n");

  const names = [
    ...kinds.map(({ name }) => `distance ${name}`),
    "arm state, boolean, 156 pairs, 5,000 states",
    `arm state, least distance, 156 pairs, ${free.length} free states`,
  ];
  const ours = names.map(() => Number.POSITIVE_INFINITY),
    theirs = names.map(() => Number.POSITIVE_INFINITY);
  const notes = names.map(() => "");
  for (let turn = 0; turn < TURNS; turn++) {
    if (fcl.ok) {
      const answer = askFcl(fcl.binary, input, kinds.length);
      for (const [k, us] of answer.times.entries()) theirs[k] = Math.min(theirs[k]!, us);
      for (const [k, { a, b, places }] of kinds.entries()) {
        const off = places.map(([p, q], i) => answer.distances[k]![i]! - distance(a.body, p, b.body, q, out));
        notes[k] = `FCL off by up to ${Math.max(...off.map(Math.abs)).toExponential(1)} m`;
      }
      notes[kinds.length] = `${states.length - free.length} collide, FCL ${answer.colliding}`;
      const off = free.map((q, i) => Math.abs(answer.least[i]! - least(q)));
      if (answer.least.length === free.length)
        notes[kinds.length + 1] = `FCL off by up to ${Math.max(...off).toExponential(1)} m`;
    }
    const mine = [
      ...kinds.map(({ a, b, places }) =>
        fastest(places.length, () => {
          let sum = 0;
          for (let i = 0; i < places.length; i++) {
            const place = places[i]!;
            sum += distance(a.body, place[0], b.body, place[1], out);
          }
          return sum;
        }),
      ),
      fastest(states.length, () => {
        let sum = 0;
        for (let i = 0; i < states.length; i++) sum += check(states[i]!);
        return sum;
      }),
      fastest(free.length, () => {
        let sum = 0;
        for (let i = 0; i < free.length; i++) sum += least(free[i]!);
        return sum;
      }),
    ];
    for (const [k, us] of mine.entries()) ours[k] = Math.min(ours[k]!, us);
  }
  const targets = [...kinds.map(() => 2), 1.5, 4];
  return names.map((name, k) =>
    benchLine(name, ours[k]!, fcl.ok ? theirs[k]! : undefined, { ratio: targets[k]! }, fcl.ok ? notes[k] : fcl.reason),
  );
}

if (process.argv[1] !== undefined && import.meta.url === pathToFileURL(process.argv[1]).href) {
  for (const line of await run()) console.log(formatBenchLine(line));
  if (Number.isNaN(sink)) process.exitCode = 1;
}
