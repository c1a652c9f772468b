/** What hides what: the pictures' order of painting against a ray caster that knows nothing of it. */
import { describe, expect, it } from "vitest";
import type { ClearanceScene, SceneBody } from "../../check/clearance/scene.ts";
import { poseFromAbc, translation } from "../../math/pose.ts";
import { facetModel } from "./facets.ts";
import { paintBodies } from "./paint.ts";
import {
  BACK,
  FRONT,
  facing,
  framingOf,
  ISOMETRIC,
  LEFT,
  onPicture,
  PLAN,
  RIGHT,
  type Vector,
  type View,
} from "./view.ts";

const VIEWS = [FRONT, BACK, LEFT, RIGHT, PLAN, ...ISOMETRIC, facing("aslant", [0.3, -0.8, 0.45])];

const body = (shape: SceneBody["shape"], worldFromBody = translation(0, 0, 0), name = "b"): SceneBody => ({
  name,
  group: "scene",
  shape,
  worldFromBody,
});

const box = (size: number) => ({ kind: "box", size: [size, size, size] }) as const;

function paint(bodies: readonly SceneBody[], view: View, width = 120, height = 100) {
  const scene: ClearanceScene = { bodies };
  const model = facetModel(bodies, { tolerance: 0.002, sides: 12, triangles: 400 });
  const framing = framingOf(
    view,
    model.facets.flatMap(({ points }) => points),
    width,
    height,
    6,
  );
  const { cover, paths } = paintBodies(scene, model, view, framing, { ghosts: new Set(), hatch: ["a", "b"] });
  return { model, framing, cover, paths };
}

/** Body that a ray into the picture meets first at (x, y) px, -1 for none; undefined within a hair of an outline or a tie. */
function firstBody(model: ReturnType<typeof facetModel>, view: View, at: Vector): number | undefined {
  let nearest = Infinity,
    second = Infinity,
    found = -1;
  for (const { body: index, nx, ny, nz, d, points } of model.facets) {
    const slope = nx * view.toward[0] + ny * view.toward[1] + nz * view.toward[2];
    if (Math.abs(slope) < 1e-9) continue;
    const t = (d - nx * at[0] - ny * at[1] - nz * at[2]) / slope;
    const p = [at[0] + t * view.toward[0], at[1] + t * view.toward[1], at[2] + t * view.toward[2]];
    let inside = true;
    for (let i = 0; i < points.length; i += 3) {
      const j = (i + 3) % points.length;
      const e = [0, 1, 2].map((k) => points[j + k]! - points[i + k]!);
      const v = [0, 1, 2].map((k) => p[k]! - points[i + k]!);
      const turn =
        nx * (e[1]! * v[2]! - e[2]! * v[1]!) +
        ny * (e[2]! * v[0]! - e[0]! * v[2]!) +
        nz * (e[0]! * v[1]! - e[1]! * v[0]!);
      if (turn < 0) inside = false;
    }
    if (!inside) continue;
    const depth = -t;
    if (depth < nearest) {
      if (index !== found) second = nearest;
      nearest = depth;
      found = index;
    } else if (index !== found) second = Math.min(second, depth);
  }
  return second - nearest < 1e-7 ? undefined : found;
}

/** Share of the picture's points at which the painting and the rays disagree. */
function disagreement(bodies: readonly SceneBody[], view: View): number {
  const { model, framing, cover } = paint(bodies, view);
  let wrong = 0,
    asked = 0;
  for (let x = 3.25; x < framing.width; x += 5)
    for (let y = 3.25; y < framing.height; y += 5) {
      const u = framing.middle[0] + (x - framing.width / 2) / framing.scale,
        v = framing.middle[1] - (y - framing.height / 2) / framing.scale;
      const at = [0, 1, 2].map((k) => u * view.right[k]! + v * view.up[k]!) as unknown as Vector;
      const expected = firstBody(model, view, at);
      if (expected === undefined) continue;
      asked++;
      if (cover.at(x, y) !== expected) wrong++;
    }
  return wrong / asked;
}

/** Reproducible numbers in [0, 1) (mulberry32). */
function random(seed: number): () => number {
  let a = seed;
  return () => {
    a = (a + 0x6d2b79f5) | 0;
    let t = Math.imul(a ^ (a >>> 15), 1 | a);
    t = (t + Math.imul(t ^ (t >>> 7), 61 | t)) ^ t;
    return ((t ^ (t >>> 14)) >>> 0) / 4294967296;
  };
}

describe("places on the picture", () => {
  it.each(VIEWS.map((view) => [view.name, view] as const))("are found back, seen %s", (_, view) => {
    const framing = { width: 120, height: 100, scale: 37, middle: [0.4, -0.2] } as const;
    const [u, v] = [0.9, -0.7];
    const at = [0, 1, 2].map((k) => u * view.right[k]! + v * view.up[k]! + 3 * view.toward[k]!) as unknown as Vector;
    const [x, y] = onPicture(view, framing, ...at);
    expect(x).toBeCloseTo(60 + 37 * 0.5, 9);
    expect(y).toBeCloseTo(50 + 37 * 0.5, 9);
  });

  it("of the axes are as the standards want them", () => {
    const framing = { width: 0, height: 0, scale: 1, middle: [0, 0] } as const;
    const to = (view: View, ...p: Vector) => onPicture(view, framing, ...p).map((value) => value + 0);
    // Sheet: right and down positive. First-angle views: front x right, z up; plan x right, y up; from the left -y right.
    expect([to(FRONT, 1, 0, 0), to(FRONT, 0, 0, 1), to(PLAN, 0, 1, 0), to(LEFT, 0, -1, 0)]).toEqual([
      [1, 0],
      [0, -1],
      [0, -1],
      [1, 0],
    ]);
    // Isometric: all axes equally long, x and y at 30° to the horizontal (ISO 5456-3).
    for (const view of ISOMETRIC) {
      const axes = [to(view, 1, 0, 0), to(view, 0, 1, 0), to(view, 0, 0, 1)];
      for (const [x, y] of axes) expect(Math.hypot(x!, y!)).toBeCloseTo(Math.sqrt(2 / 3), 12);
      for (const [x, y] of axes.slice(0, 2)) expect(Math.abs(y! / x!)).toBeCloseTo(Math.tan(Math.PI / 6), 12);
      expect(axes[2]![0]).toBeCloseTo(0, 12);
      expect(axes[2]![1]).toBeLessThan(0);
    }
  });
});

describe("what is in front", () => {
  it.each(VIEWS.map((view) => [view.name, view] as const))("hides what is behind, seen %s", (_, view) => {
    const [x, y, z] = view.toward;
    const far = body(box(0.2), translation(-0.5 * x, -0.5 * y, -0.5 * z));
    const near = body(box(0.2), translation(0.5 * x, 0.5 * y, 0.5 * z));
    for (const [bodies, front] of [
      [[far, near], 1],
      [[near, far], 0],
    ] as const) {
      const { cover, framing } = paint(bodies, view);
      expect(cover.at(framing.width / 2, framing.height / 2)).toBe(front);
      expect([...cover.seen().keys()].sort()).toEqual([front]);
    }
  });

  it.each(VIEWS.map((view) => [view.name, view] as const))(
    "is right where three long boxes hide each other in turn, seen %s",
    (_, view) => {
      const beam = (at: Vector, turn: Vector) =>
        body({ kind: "box", size: [1, 0.1, 0.1] }, poseFromAbc(at, ...(turn as [number, number, number])));
      const bodies = [
        beam([0, -0.25, -0.06], [0, 0.2, 0.1]),
        beam([0.25, 0, 0], [0.3, 0.2, Math.PI / 2]),
        beam([0, 0.1, 0.05], [0, -0.25, Math.PI / 4]),
      ];
      expect(disagreement(bodies, view)).toBeLessThan(0.01);
    },
  );

  it("is right among bodies of every kind that go into each other", () => {
    const next = random(20260131);
    for (let round = 0; round < 12; round++) {
      const bodies = Array.from({ length: 7 }, (_, i) => {
        const r = 0.06 + 0.1 * next();
        const shapes: SceneBody["shape"][] = [
          { kind: "box", size: [3 * r, r, 2 * r] },
          { kind: "cylinder", radius: r, length: 5 * r },
          { kind: "capsule", radius: r, length: 5 * r },
          { kind: "sphere", radius: 1.5 * r },
          {
            kind: "convex",
            points: Array.from({ length: 9 }, () => [3 * r * next(), 3 * r * next(), 3 * r * next()] as const),
          },
          tetrahedron(3 * r),
        ];
        const at = [next() - 0.5, next() - 0.5, next() - 0.5];
        return body(shapes[i % shapes.length]!, poseFromAbc(at, 6 * next(), 6 * next(), 6 * next()));
      });
      const view = VIEWS[round % VIEWS.length]!;
      // Points within half a cell of an outline may fall on either side of it.
      expect(disagreement(bodies, view)).toBeLessThan(0.02);
    }
  });

  it("is right for an open surface seen from both sides", () => {
    const sheet: SceneBody["shape"] = {
      kind: "triangles",
      vertices: Float64Array.of(0, 0, 0, 1, 0, 0, 1, 0, 1, 0, 0, 1),
      indices: Uint32Array.of(0, 1, 2, 0, 2, 3),
    };
    for (const view of [FRONT, BACK])
      expect([
        ...paint([body(sheet)], view)
          .cover.seen()
          .keys(),
      ]).toEqual([0]);
  });
});

function tetrahedron(size: number): SceneBody["shape"] {
  return {
    kind: "triangles",
    vertices: Float64Array.of(0, 0, 0, size, 0, 0, 0, size, 0, 0, 0, size),
    // Turned inward: the picture must turn it over.
    indices: Uint32Array.of(0, 1, 2, 0, 3, 1, 0, 2, 3, 1, 3, 2),
  };
}

describe("lines of the drawing", () => {
  const count = (paths: string, name: string) =>
    [...paths.matchAll(new RegExp(`<path class="${name}" d="([^"]*)"`, "g"))].map(([, d]) => d!).join("");

  it("of a box from the front are one closed outline and no crease", () => {
    const { paths } = paint([body(box(0.2))], FRONT);
    expect(count(paths, "o").match(/M/g)).toHaveLength(1);
    expect(count(paths, "e")).toBe("");
  });

  it("of a cube in an isometric view are a regular hexagon and three edges that meet in its middle", () => {
    const { paths, framing } = paint([body(box(0.2))], ISOMETRIC[0]!);
    const [, x, y, rest] = /^M(-?\d+) ?(-?\d+)l(.*)$/.exec(count(paths, "o"))!;
    const steps = rest!.match(/-?\d+/g)!.map(Number);
    const corners = [[Number(x), Number(y)]];
    for (let i = 0; i < steps.length; i += 2)
      corners.push([corners.at(-1)![0]! + steps[i]!, corners.at(-1)![1]! + steps[i + 1]!]);
    expect(corners).toHaveLength(7);
    const radius = 10 * framing.scale * 0.2 * Math.sqrt(2 / 3);
    for (const [cx, cy] of corners)
      expect(Math.hypot(cx! - 5 * framing.width, cy! - 5 * framing.height) / radius).toBeCloseTo(1, 2);
    expect(count(paths, "e").match(/-?\d+[ -]\d+|M/g)!.length).toBeGreaterThan(3);
  });

  it("show where one body goes into another", () => {
    const plain = paint([body(box(0.2)), body(box(0.1), translation(0, 0, 0.4))], FRONT).paths;
    // A post through the front face of a box: its outline ends at the face, and the entry is drawn.
    const post = body({ kind: "box", size: [0.05, 0.4, 0.05] }, translation(0.3, 0, 0));
    const wall = body({ kind: "box", size: [1, 0.02, 1] });
    const through = paint([wall, post], ISOMETRIC[0]!).paths;
    expect(count(plain, "e")).toBe("");
    const edges = count(through, "e");
    expect(edges).not.toBe("");
    expect(count(paint([wall], ISOMETRIC[0]!).paths, "e").length).toBeLessThan(edges.length);
  });
});
