/** Found routes in cells whose arm moves along x, y and z, so that every way can be told by hand. */
import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { type GantryParts, gantryCell } from "../../../test/cells/gantry.ts";
import { smallLathe, textSource } from "../../../test/cells/texts.ts";
import { branchOf, buildArm, createSingularityMeter } from "../../arm/index.ts";
import { type Cell, loadCell } from "../../cell/index.ts";
import { createSweptScene } from "../../clearance/index.ts";
import { simulate } from "../../cycle/index.ts";
import { type Motion, MotionMemory } from "../../motion/index.ts";
import { checkCell } from "../check-cell.ts";
import { ClearanceMemory } from "../clearance/memory.ts";
import { createSceneBuilder } from "../clearance/moving-scene.ts";
import { surveyClearance } from "../clearance/survey.ts";
import { createMover, isPlanned } from "../mover.ts";

const BALL = "{ ball: { sphere: { radius: 20 mm } } }";
const PART = `parts:
  block:
    shape: { box: [40, 40, 60 mm], at: [0, 0, 30 mm] }
    stages: { raw: 0.5 kg }
    grips: { top: { at: [0, 0, 50 mm], abc: [180, 0, 0 deg] } }
`;

/** A wall at y 0, as wide as the slides go, from far below up to z 200 mm. */
const WALL = "scene: { shapes: { wall: { box: [7000, 40, 4200 mm], at: [0, 0, -1900 mm] } } }";
const across = (go: string, more: Partial<GantryParts> = {}): GantryParts => ({
  gripper: BALL,
  poses: { home: [0, -400, 0], behind: [0, 400, 0] },
  main: `    - go: ${go}`,
  sections: `${PART}${WALL}`,
  ...more,
});

function check(cell: Cell, memory?: { readonly motions: MotionMemory; readonly clearance: ClearanceMemory }) {
  const outcome = checkCell(cell, memory && { memory: memory.motions, clearanceMemory: memory.clearance });
  if (!outcome.ok) throw new Error("cancelled");
  return outcome;
}

const findingsOf = ({ report }: ReturnType<typeof check>) =>
  report.findings
    .filter(({ code }) => /route|clearance|collision|blend/.test(code))
    .map(({ code, severity, where, message, mend }) => ({ code, severity, where, message, mend }));

function motionOf(result: ReturnType<typeof check>, move = 0): Motion {
  const { outcome } = result.runs.get("block")!.nominal.moves[move]!;
  if (!outcome.ok || !isPlanned(outcome.motion)) throw new Error("the motion was not planned");
  return outcome.motion.motion;
}

/** Way of the tool, m, and its least distance to the wall's edges, m, looked at every millisecond. */
function looked(motion: Motion, distance: (q: Float64Array) => number) {
  const state = { q: new Float64Array(3), qd: new Float64Array(3), qdd: new Float64Array(3) };
  let way = 0,
    least = Number.POSITIVE_INFINITY;
  let last: Float64Array | undefined;
  for (let time = 0; time <= motion.duration; time += 0.001) {
    motion.sample(time, state);
    const q = state.q.slice();
    if (last !== undefined) way += Math.hypot(...q.map((v, i) => v - last![i]!));
    least = Math.min(least, distance(q));
    last = q;
  }
  return { way, least };
}
const toWall = ([, y, z]: Float64Array) => Math.hypot(Math.max(0, Math.abs(y!) - 0.02), Math.max(0, z! - 0.2)) - 0.02;

describe("a wall between start and end", () => {
  const straight = check(gantryCell(across("behind")));
  const found = check(gantryCell(across("{ to: behind, route: find }")));

  it("is hit by the straight motion, and passed over by the found one with the clearance wanted", () => {
    expect(findingsOf(straight).map(({ code }) => code)).toEqual(["collision"]);
    expect(findingsOf(found)).toEqual([]);
    expect(found.report.clearance!.certified_m).toBeGreaterThanOrEqual(0.01);
    expect(found.report.clearance!.pair).toEqual(["gripper.ball", "wall"]);
    const { least, way } = looked(motionOf(found), toWall);
    expect(least).toBeGreaterThanOrEqual(0.01 - 1e-9);
    // A string over the two edges, 30 mm off: the ball's radius and the clearance.
    const over = Math.hypot(0.38, 0.2);
    const tangent = Math.sqrt(over ** 2 - 0.03 ** 2);
    const turn = Math.atan2(0.2, 0.38) + Math.asin(0.03 / over);
    const shortest = 2 * tangent + 0.04 + 2 * 0.03 * turn;
    expect(way).toBeGreaterThan(0.8);
    expect(way).toBeGreaterThan(shortest - 1e-4);
    expect(way).toBeLessThan(1.35 * shortest);
  });

  it("is one motion without a stop, told as one step", () => {
    const motion = motionOf(found);
    expect(motion.segmentEnds).toEqual([motion.duration]);
    expect(motion.blends).toEqual([0]);
    const state = { q: new Float64Array(3), qd: new Float64Array(3), qdd: new Float64Array(3) };
    let slowest = Number.POSITIVE_INFINITY;
    for (let time = 0.2; time < motion.duration - 0.2; time += 0.001) {
      motion.sample(time, state);
      slowest = Math.min(slowest, Math.hypot(...state.qd));
    }
    expect(slowest).toBeGreaterThan(0.05);
    expect(motion.duration).toBeGreaterThan(motionOf(straight).duration);
  });

  it("is passed by the same route for the same seed, and by another for another", () => {
    const again = check(gantryCell(across("{ to: behind, route: find }")));
    const other = check(
      gantryCell(across("{ to: behind, route: find }", { motion: "{ line step: 2 mm, route seed: 2 }" })),
    );
    const places = (motion: Motion) => {
      const state = { q: new Float64Array(3), qd: new Float64Array(3), qdd: new Float64Array(3) };
      return [0.3, 0.5, 0.7].map((share) => {
        motion.sample(share * motion.duration, state);
        return [...state.q];
      });
    };
    expect(places(motionOf(again))).toEqual(places(motionOf(found)));
    expect(places(motionOf(other))).not.toEqual(places(motionOf(found)));
    expect(findingsOf(other)).toEqual([]);
  });

  it("is not searched for again by a check that remembers", () => {
    const memory = { motions: new MotionMemory(), clearance: new ClearanceMemory() };
    const cell = gantryCell(across("{ to: behind, route: find }"));
    const cold = check(cell, memory);
    expect(memory.clearance.routes.searches).toBe(1);
    const warm = check(gantryCell(across("{ to: behind, route: find }")), memory);
    expect(memory.clearance.routes.searches).toBe(1);
    expect(warm.report).toEqual(cold.report);
    expect(warm.clearance.work.answers).toBe(0);
    check(gantryCell(across("{ to: behind, route: find, clearance: 12 mm }")), memory);
    expect(memory.clearance.routes.searches).toBe(2);
  });

  it("keeps what the step wants", () => {
    const wide = check(gantryCell(across("{ to: behind, route: find, clearance: 50 mm }")));
    expect(findingsOf(wide)).toEqual([]);
    expect(looked(motionOf(wide), toWall).least).toBeGreaterThanOrEqual(0.05 - 1e-9);
  });
});

it("goes round a mesh as round the body that it is", () => {
  const corners = [0, 1, 2, 3, 4, 5, 6, 7].map((k) => [k & 1 ? 3500 : -3500, k & 2 ? 20 : -20, k & 4 ? 200 : -4000]);
  const faces = [
    [0, 2, 3, 1],
    [4, 5, 7, 6],
    [0, 1, 5, 4],
    [2, 6, 7, 3],
    [0, 4, 6, 2],
    [1, 3, 7, 5],
  ];
  const wall = {
    vertices: Float64Array.from(corners.flat()),
    indices: Uint32Array.from(faces.flatMap(([a, b, c, d]) => [a!, b!, c!, a!, c!, d!])),
  };
  const sections = `${PART}scene: { shapes: { wall: { mesh: wall.stl } } }`;
  const outcome = checkCell(gantryCell(across("{ to: behind, route: find }", { sections })), { meshes: () => wall });
  if (!outcome.ok) throw new Error("cancelled");
  expect(findingsOf(outcome)).toEqual([]);
  expect(outcome.report.clearance!.pair[1]).toBe("wall");
  expect(looked(motionOf(outcome), toWall).least).toBeGreaterThanOrEqual(0.01 - 1e-9);
});

it("keeps the clearance wanted among boxes anywhere, or says that there is no route", () => {
  const mm = (min: number, max: number) => fc.integer({ min, max });
  const box = fc.record({
    size: fc.tuple(mm(20, 500), mm(20, 200), mm(20, 500)),
    at: fc.tuple(mm(-300, 300), mm(-300, 300), mm(-300, 300)),
  });
  const seen = { free: 0, found: 0, none: 0 };
  fc.assert(
    fc.property(fc.array(box, { minLength: 3, maxLength: 8 }), mm(1, 30), (boxes, clearance) => {
      const shapes = boxes.map(({ size, at }, k) => `b${k}: { box: [${size} mm], at: [${at} mm] }`).join(", ");
      const cell = (route: string) =>
        gantryCell(
          across(`{ to: behind, clearance: ${clearance} mm${route} }`, {
            sections: `${PART}scene: { shapes: { ${shapes} } }`,
          }),
        );
      const codes = findingsOf(check(cell(", route: find"))).map(({ code }) => code);
      if (codes.includes("no-route")) {
        seen.none++;
        return;
      }
      expect(codes).toEqual([]);
      seen[findingsOf(check(cell(""))).length > 0 ? "found" : "free"]++;
    }),
    { seed: 11, numRuns: 24 },
  );
  expect(seen.found).toBeGreaterThan(10);
});

describe("parts at rest", () => {
  // Blocks on a shelf across the way; each pass takes one from the near tray, goes over, and leaves it behind.
  const shelf = (steps: string): GantryParts => ({
    gripper: "{ ball: { sphere: { radius: 8 mm }, at: [0, 0, 20 mm] } }",
    poses: { home: [0, -500, 200] },
    main: `    - each:
        place: [near, far]
        do:
${steps}`,
    sections: `${PART}scene:
  trays:
    near: { in: world, at: [0, -300, 0 mm], rows: 1, columns: 3, pitch: [100, 100 mm], order: rows, start: block }
    far: { in: world, at: [0, 300, 0 mm], rows: 1, columns: 3, pitch: [100, 100 mm], order: rows }
  shapes: { bar: { box: [7000, 40, 20 mm], at: [0, 0, 90 mm] } }
`,
  });
  const lift = "offset: [0, 0, 80 mm]";
  const steps = (route: string) => `          - go: { to: near, ${lift} }
          - go: { to: near, by: line }
          - hold: { gripper: gripper, from: near }
          - dwell: 0.2 s
          - go: { to: near, ${lift}, by: line }
          - go: { to: far, ${lift}${route} }
          - go: { to: far, by: line }
          - free: { gripper: gripper, into: far }
          - dwell: 0.2 s
          - go: { to: far, ${lift}, by: line }
          - go: home`;

  it("are gone round by the part that is carried, place by place", () => {
    const straight = check(gantryCell(shelf(steps(""))));
    expect(findingsOf(straight).map(({ code, where }) => `${code} ${where}`)).toEqual([
      "collision routines.main[0].do[5]",
    ]);
    const found = check(gantryCell(shelf(steps(", route: find"))));
    expect(findingsOf(found)).toEqual([]);
    const moves = found.runs.get("block")!.nominal.moves.filter(({ steps: [step] }) => step!.id.endsWith("do[5]"));
    expect(moves).toHaveLength(3);
    expect(moves.every(({ outcome }) => outcome.ok)).toBe(true);
  });

  it("that come and go elsewhere do not change a route that stays clear", () => {
    const memory = { motions: new MotionMemory(), clearance: new ClearanceMemory() };
    const homing = steps(", route: find").replace(
      "- go: home",
      "- go: { to: home, route: find }\n          - go: { to: far, place: 1, offset: [0, 0, 200 mm] }\n          - go: { to: home, route: find }",
    );
    const found = check(gantryCell(shelf(homing)), memory);
    const last = found.runs.get("block")!.nominal.moves.filter(({ steps: [step] }) => step!.id.endsWith("do[12]"));
    expect(last).toHaveLength(3);
    expect(last.map(({ resting }) => resting).filter((r, i, all) => all.indexOf(r) === i)).toHaveLength(3);
    expect(last[1]!.outcome).toBe(last[0]!.outcome);
    expect(last[2]!.outcome).toBe(last[0]!.outcome);
    // Three ways over, three ways home from the places, one from above the first place.
    expect(memory.clearance.routes.searches).toBe(7);
  });
});

it("draws in the blend before a found route, where a wider one would come too near, and says so", () => {
  // Around a knob that stands 60 mm from either side of a right angle: 10 mm are left for the ball along both.
  const turn = (knob: string) =>
    check(
      gantryCell({
        gripper: BALL,
        poses: { home: [0, -400, 0], corner: [0, 0, 0], side: [400, 0, 0] },
        main: `    - go: { to: corner, blend: 180 mm, clearance: 0 mm }
    - go: { to: side, route: find, clearance: 1 mm }`,
        sections: `${PART}scene: { shapes: { knob: { sphere: { radius: 30 mm }, at: [${knob} mm] } } }`,
      }),
    );
  const wide = turn("600, -600, 0");
  expect(findingsOf(wide)).toEqual([]);
  expect(motionOf(wide).blends![0]).toBeCloseTo(0.18, 6);
  const tight = turn("60, -60, 0");
  expect(motionOf(tight).segmentEnds).toHaveLength(2);
  expect(motionOf(tight).blends![0]).toBeLessThan(0.15);
  const [reduced, ...others] = findingsOf(tight);
  expect(others).toEqual([]);
  expect(reduced).toMatchObject({ code: "blend-reduced", severity: "caution", where: "routines.main[0]" });
  expect(reduced!.message).toMatch(
    /^the blend is reduced from 180\.0 mm to [\d.]+ mm: wider, the motion would come too near to something$/,
  );
});

it("says where begin and end are too near, and to what", () => {
  const noRoute = (poses: GantryParts["poses"], more = "") => {
    const found = findingsOf(check(gantryCell(across(`{ to: behind, route: find${more} }`, { poses }))));
    return found.filter(({ code }) => code === "no-route").map(({ message, mend }) => ({ message, mend }));
  };
  const [end] = noRoute({ home: [0, -400, 0], behind: [0, 45, 0] });
  expect(end!.message).toBe(
    "no route to behind: where it ends, gripper.ball and wall are 5.0 mm apart; 10 mm are wanted",
  );
  expect(end!.mend).toContain("End the found route at an `offset`");
  expect(noRoute({ home: [0, -400, 0], behind: [0, 45, 0] }, ", clearance: 4 mm")).toEqual([]);
  const [begin] = noRoute({ home: [0, -30, 0], behind: [0, 400, 0] });
  expect(begin!.message).toBe(
    "no route to behind: where it begins, gripper.ball and wall overlap by 10.0 mm; 10 mm are wanted",
  );
  expect(begin!.mend).toContain("Draw the tool out by a line first");
});

it("gives up when the budget is spent, and says that there may be one", () => {
  const cell = gantryCell(across("{ to: behind, route: find }"));
  const arm = buildArm(cell.arm);
  const mover = createMover(cell, arm, new MotionMemory(), undefined, { states: 4 });
  const { moves } = simulate(cell, mover, { variant: "block", pace: "nominal" });
  const { outcome } = moves[0]!;
  if (outcome.ok) throw new Error("found");
  expect(outcome.failure).toMatchObject({ kind: "no route", segment: 0 });
  expect(outcome.failure.message).toMatch(/^no route to behind was found in \d+ states looked at; there may be one$/);
  expect(outcome.failure.mend).toContain("`route seed`");
  expect([...outcome.resume]).toEqual([0, 0.4, 0]);
});

describe("an arm with branches", () => {
  const text = smallLathe
    .replace(
      /^( {4}table-top: .*)$/m,
      "$1\n    post: { cylinder: { diameter: 80 mm, length: 450 mm }, in: world, at: [320, 0, 225 mm] }",
    )
    .replace(
      /^routines:$/m,
      `  left: { joints: [0.9, 0.9, -0.6, 0, -1.2, 0 rad] }
  right: { joints: [-0.9, 0.9, -0.6, 0, -1.2, 0 rad] }
routines:
  there:
    - go: left
    - go: { to: right, offset: [0, 0, 10 mm], ROUTE }`,
    );
  const endOf = (route: string) => {
    const loaded = loadCell("cell.yaml", textSource({ "cell.yaml": text.replace("ROUTE", route) }));
    if (!loaded.ok) throw new Error(JSON.stringify(loaded.issues[0]));
    const cell = { ...loaded.value, entry: "there" };
    const arm = buildArm(cell.arm);
    const run = simulate(cell, createMover(cell, arm), { variant: "short", pace: "nominal" });
    const { outcome } = run.moves[1]!;
    const q = outcome.ok ? outcome.end : outcome.resume;
    return { outcome, branch: branchOf(createSingularityMeter(arm), q), survey: surveyClearance(cell, arm, [[run]])! };
  };

  it("goes round the post on any branch, or on the one asked for", () => {
    const straight = endOf("by: joint");
    expect(new Set(straight.survey.encounters.map(({ worst }) => worst.pair[1].name))).toEqual(new Set(["post"]));
    const any = endOf("route: find");
    expect(any.outcome.ok).toBe(true);
    expect(any.survey.encounters).toEqual([]);
    const other = { wrist: -any.branch.wrist, elbow: any.branch.elbow } as const;
    const words = (sign: number) => (sign > 0 ? "plus" : "minus");
    const asked = endOf(`route: find, branch: { wrist: ${words(other.wrist)}, elbow: ${words(other.elbow)} }`);
    expect(asked.outcome.ok).toBe(true);
    expect(asked.branch).toMatchObject(other);
    expect(asked.survey.encounters).toEqual([]);
  });
});

it("certifies the finished motion, not the corners alone", () => {
  const cell = gantryCell(across("{ to: behind, route: find, clearance: 30 mm }"));
  const motion = motionOf(check(cell));
  const arm = buildArm(cell.arm);
  const scene = createSceneBuilder(cell, arm).sceneFor({ held: new Map(), resting: new Map(), devices: new Map() });
  const swept = createSweptScene(arm, scene.bodies, scene.slides, scene.pairs);
  expect(swept.clear(motion.swept, 0.03)).toBe(true);
});

describe("a door across the only way", () => {
  // A wall without end at y 0, but for a doorway 300 mm wide that the door closes.
  const doorway = (main: string): GantryParts => ({
    gripper: "{ ball: { sphere: { radius: 80 mm } } }",
    poses: { home: [0, -400, 0], behind: [100, 400, 50] },
    main,
    sections: `${PART}scene:
  frames: { lathe: { at: [0, 0, 0 mm] } }
  shapes:
    left: { box: [4000, 40, 8000 mm], at: [-2150, 0, 0 mm] }
    right: { box: [4000, 40, 8000 mm], at: [2150, 0, 0 mm] }
    above: { box: [300, 40, 4000 mm], at: [0, 0, 2150 mm] }
    below: { box: [300, 40, 4000 mm], at: [0, 0, -2150 mm] }
machines:
  lathe:
    frame: lathe
    devices:
      door:
        command: { level: door-open, on: open, off: closed }
        time: 1 to 2 s
        feedback: { open: door-is-open, closed: door-is-closed }
        shapes: { panel: { box: [320, 10, 320 mm] } }
        moves: { closed: {}, open: { at: [420, 60, 0 mm] } }
`,
  });
  const open = "    - drive: { door-open: on }\n";
  const wait = "    - await: { signal: door-is-open, limit: 5 s }\n";
  const go = "    - go: { to: behind, route: find }\n";
  /** The same with slides of 1.2 m only: less to prove. */
  const short = (cell: Cell): Cell => ({
    ...cell,
    arm: { ...cell.arm, joints: cell.arm.joints.map((joint) => ({ ...joint, min: -0.6, max: 0.6 })) },
  });
  const noRoute = (main: string) => {
    const found = findingsOf(check(short(gantryCell(doorway(main))))).filter(({ code }) => code === "no-route");
    expect(found).toHaveLength(1);
    return found[0]!;
  };

  it("is proved to leave no way while it is closed, and named with what opens it", () => {
    const { severity, message, mend } = noRoute(go);
    expect(severity).toBe("error");
    expect(message).toMatch(/^there is no route to behind, which is proved from gripper\.ball and [\w.]+: a ball/);
    expect(mend).toBe(
      "Bring lathe.door to open before this step, and await door-is-open: with lathe.door open there is a route.",
    );
  });

  it("counts wherever it may stand while nothing has waited for it", () => {
    expect(noRoute(`${open}${go}`).mend).toBe(
      "Await door-is-open before this step: with lathe.door open there is a route.",
    );
    expect(noRoute(`${open}    - dwell: 1.9 s\n${go}`).mend).toContain("Await door-is-open");
  });

  it("is gone through once it has been awaited, or has surely passed, at every pace", () => {
    for (const main of [`${open}${wait}${go}`, `${open}    - dwell: 2 s\n${go}`]) {
      const result = check(gantryCell(doorway(main)));
      expect(findingsOf(result)).toEqual([]);
      expect(result.report.clearance!.certified_m).toBeGreaterThanOrEqual(0.01);
      const { nominal, slowest, fastest } = result.runs.get("block")!;
      const motions = [nominal, slowest, fastest].map(({ moves }) => moves[0]!.outcome);
      expect(motions[1]).toBe(motions[0]);
      expect(motions[2]).toBe(motions[0]);
    }
  });
});
