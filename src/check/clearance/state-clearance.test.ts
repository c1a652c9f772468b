/** The clearance of a whole cell: the reference scene told as a cell, and what is compared with what. */
import { describe, expect, test } from "vitest";
import { describeDh } from "../../../test/arms/describe.ts";
import { mulberry32, randomPose } from "../../../test/arms/random.ts";
import { smallLathe, textSource } from "../../../test/cells/texts.ts";
import {
  type SceneBody,
  sceneArm,
  sceneBodies,
  sceneFrames,
  scenePairs,
  sceneStates,
} from "../../../test/clearance/bench-scene.ts";
import { jointsFromDh } from "../../cell/dh.ts";
import { type Cell, loadCell, type PlacedShape, type Shape } from "../../cell/index.ts";
import { type CarriedBody, createBodySet, newDistance } from "../../clearance/index.ts";
import { compose, translation } from "../../math/pose.ts";
import { createStateClearance } from "./state-clearance.ts";

function load(text: string): Cell {
  const loaded = loadCell("cell.yaml", textSource({ "cell.yaml": text }));
  if (!loaded.ok) throw new Error(JSON.stringify(loaded.issues));
  return loaded.value;
}

function prepared(cell: Cell) {
  const outcome = createStateClearance(cell);
  if (!outcome.ok) throw new Error(outcome.reason);
  return outcome.clearance;
}

/** The reference scene without its ring, in a world in which the arm stands anywhere. */
function sceneCell(): Cell {
  const cell = load(smallLathe);
  const description = describeDh("scene", sceneArm);
  const rows = sceneArm.map((row) => ({ ...row, kind: "revolute" as const, theta: 0 }));
  const { ownerFromDh } = jointsFromDh(rows, "standard");
  const worldFromBase = randomPose(mulberry32(12), 2);
  const shapeOf = ({ body }: SceneBody): Shape =>
    (
      [
        { kind: "sphere", radius: body.radius },
        { kind: "capsule", radius: body.radius, length: 2 * body.hz },
        { kind: "box", size: [2 * body.hx, 2 * body.hy, 2 * body.hz] },
        { kind: "cylinder", radius: body.hx, length: 2 * body.hz },
      ] as const
    )[body.kind as 0 | 1 | 2 | 3];
  const bodies = sceneBodies().filter(({ name }) => name !== "ring");
  const placed = (b: SceneBody, ownerFromFrame: Float64Array): PlacedShape => ({
    name: b.name,
    ownerFromShape: compose(ownerFromFrame, b.frameFromBody),
    shape: shapeOf(b),
  });
  const isTool = ({ name }: SceneBody) => ["palm", "fingers", "part"].includes(name);
  return {
    ...cell,
    arm: {
      ...description,
      links: description.links.map((link, i) => ({
        ...link,
        shapes: bodies.filter((b) => b.frame === i && !isTool(b)).map((b) => placed(b, ownerFromDh[i]!)),
      })),
    },
    worldFromBase,
    tool: { grippers: new Map(), shapes: bodies.filter(isTool).map((b) => placed(b, translation(0, 0, 0))) },
    scene: {
      ...cell.scene,
      shapes: bodies.filter((b) => b.frame === undefined).map((b) => placed(b, worldFromBase)),
    },
    machines: new Map(),
  };
}

test("the reference scene as a cell: what is settled by the build, and every random state", () => {
  const clearance = prepared(sceneCell());
  // The scene's description says of these that they always overlap, or cannot touch.
  expect(clearance.alwaysOverlap).toEqual([["base.L0", "J2.L2"]]);
  expect(clearance.neverMeet).toContainEqual(["J3.L3", "J5.L5"]);
  expect(clearance.neverMeet).toContainEqual(["J4.L4", "J6.L6"]);

  const bodies = sceneBodies();
  const pairs = scenePairs(bodies).filter(([i, j]) => bodies[i]!.name !== "ring" && bodies[j]!.name !== "ring");
  const carried = bodies.map(
    ({ frame, frameFromBody, body }): CarriedBody => ({ frame: frame ?? -1, frameFromBody, body }),
  );
  const set = createBodySet(carried, 7, pairs);
  const frames = new Float64Array(84);
  const out = newDistance(),
    reference = newDistance();
  const short = (name: string) => name.replace(/^.*\./, "");
  let same = 0;
  for (const q of sceneStates()) {
    set.place(sceneFrames(q, frames));
    const least = set.minimumDistance(reference);
    const d = clearance.measure(q, out);
    expect(d < 0).toBe(least < 0);
    const named = clearance.pairs[clearance.pair]!.map(short);
    const theirs = [set.pairs[2 * set.pair]!, set.pairs[2 * set.pair + 1]!].map((i) => bodies[i]!.name);
    if (named.sort().join() !== theirs.sort().join()) continue;
    same++;
    expect(Math.abs(d - least)).toBeLessThan(1e-10);
  }
  // The others are decided by a pair that only one of the two compares.
  expect(same).toBeGreaterThan(4500);
});

describe("the small lathe", () => {
  const cell = load(smallLathe);

  test("compares links, gripper, scene, machine and the closed door; neighbours and fixed bodies not", () => {
    const clearance = prepared(cell);
    const named = new Set(clearance.pairs.flat());
    expect([...named].sort()).toEqual([
      "J2.upper-arm",
      "base.foot",
      "fence-1",
      "fence-2",
      "fence-3",
      "fence-4",
      "gripper.body",
      "gripper.jaws",
      "lathe.bed",
      "lathe.door.panel",
      "table-top",
    ]);
    expect(clearance.pairs).toContainEqual(["base.foot", "gripper.jaws"]);
    expect(clearance.pairs).not.toContainEqual(["base.foot", "table-top"]);
    expect(clearance.pairs.some(([a, b]) => a.startsWith("gripper") && b.startsWith("gripper"))).toBe(false);
    expect(clearance.meshes).toEqual([]);
  });

  test("the gripper beside and above the table top, by hand", () => {
    const clearance = prepared({
      ...cell,
      arm: { ...cell.arm, links: cell.arm.links.map((link) => ({ ...link, shapes: [] })) },
      scene: { ...cell.scene, shapes: cell.scene.shapes.filter(({ name }) => name === "table-top") },
      machines: new Map(),
    });
    const out = newDistance();
    // J1 = 0, upper arm up (J2 = 90°), forearm level (J3 = 0), hand down (J5 = -90°): flange at x 420, z 400 + 450 + 35 - 80 mm.
    const q = [0, Math.PI / 2, 0, 0, -Math.PI / 2, 0];
    const d = clearance.measure(q, out);
    // Jaws reach 150 mm below the flange; the table top's upper side is at 200 - 11 + 10 = 199 mm, y -570 to -270 mm.
    const bottom = 0.885 - 0.08 - 0.15;
    expect(out[5]).toBeCloseTo(-0.27, 9);
    // Jaws are 60 x 30 mm; which of the two lies along y is told by the witness.
    const half = -out[2]!;
    expect([0.015, 0.03]).toContainEqual(expect.closeTo(half, 9));
    expect(d).toBeCloseTo(Math.hypot(bottom - 0.199, 0.27 - half), 9);
  });

  test("the open door stands elsewhere than the closed one", () => {
    const text = smallLathe.replace("start: closed\n", "start: open\n");
    const out = newDistance();
    const open = prepared(load(text)),
      closed = prepared(cell);
    const q = [Math.PI / 3, 1.2, -0.3, 0, -1, 0];
    expect(open.measure(q, out)).not.toBe(closed.measure(q, out));
  });

  test("mesh files are named, and a cell without shapes says so", () => {
    const meshed = smallLathe.replace("bed: { box: [900, 500, 400 mm]", "bed: { mesh: bed.stl");
    expect(prepared(load(meshed)).meshes).toEqual(["lathe.bed"]);
    const bare = {
      ...cell,
      arm: { ...cell.arm, links: cell.arm.links.map((link) => ({ ...link, shapes: [] })) },
      tool: { ...cell.tool, grippers: new Map() },
    };
    expect(createStateClearance(bare)).toEqual({
      ok: false,
      reason: "the cell states no shapes of moving links or tool",
    });
  });
});
