import { readFileSync } from "node:fs";
import { describe, expect, it } from "vitest";
import { buildArm } from "../arm/index.ts";
import { type Cell, loadCell, type Target } from "../cell/index.ts";
import type { MoveContext } from "../cycle/index.ts";
import { compose, invert, poseFromAbc, translation } from "../math/pose.ts";
import { activeTcp, carriedLoad } from "./load.ts";
import { nameFor, resolveTarget } from "./targets.ts";

const file = new URL("../../test/cells/small-lathe.yaml", import.meta.url);
const loaded = loadCell("small-lathe.yaml", { read: () => ({ text: readFileSync(file, "utf8") }) }, {});
if (!loaded.ok) throw new Error("the fixture does not load");
const cell: Cell = loaded.value;
const arm = buildArm(cell.arm);
const tcp = cell.tool.grippers.get("gripper")!.flangeFromTcp;

const context = (held: MoveContext["held"] = new Map(), places: MoveContext["places"] = new Map()): MoveContext => ({
  q: Float64Array.from(cell.home),
  variant: "short",
  places,
  held,
  gripper: "gripper",
});
const by = (name: string): Target["at"] => ({ default: name, variants: new Map() });
const close = (actual: ArrayLike<number>, expected: ArrayLike<number>) =>
  expect(Array.from(actual)).toEqual(Array.from(expected, (v) => expect.closeTo(v, 12)));

describe("resolveTarget", () => {
  it("takes a pose given by joint values as it is", () => {
    const target = resolveTarget(cell, arm, { at: by("home"), kind: "pose", bring: "gripper" }, "gripper", context());
    expect(Array.from(target.joints!)).toEqual(cell.home);
  });

  it("brings the part's frame to the current place, so that the TCP stands where the grip says", () => {
    // Place 5 of a 2 x 3 tray (serving by rows): second row, second column: 60 mm along x and y of the table at (350, -450, 200) mm.
    const target = resolveTarget(
      cell,
      arm,
      { at: by("raw-tray"), kind: "holder", bring: "part" },
      "gripper",
      context(new Map(), new Map([["raw-tray", 4]])),
    );
    const baseFromTcp = compose(target.baseFromFlange, tcp);
    // The grip "end" is 48 mm up the part, pointing down.
    close(baseFromTcp, poseFromAbc([0.41, -0.39, 0.248], Math.PI, 0, 0));
    expect(target.label).toBe("raw-tray, place 5");
  });

  it("applies an offset in the target's own axes or in those of a frame", () => {
    // The chuck's z points along world x: 100 mm along it moves the tool by 100 mm in x.
    const at: Target = { at: by("lathe.chuck"), kind: "holder", bring: "part" };
    const plain = resolveTarget(cell, arm, at, "gripper", context()).baseFromFlange;
    const offset = { in: "target", pose: translation(0, 0, 0.1) };
    const { baseFromFlange: own, label } = resolveTarget(cell, arm, { ...at, offset }, "gripper", context());
    expect(label).toBe("lathe.chuck, 100 mm off");
    const world = resolveTarget(
      cell,
      arm,
      { ...at, offset: { in: "world", pose: translation(0.1, 0, 0) } },
      "gripper",
      context(),
    ).baseFromFlange;
    close(own, world);
    expect(own[3]! - plain[3]!).toBeCloseTo(0.1, 12);
  });

  it("turns about the target's own origin when an offset in a frame turns", () => {
    const at: Target = { at: by("above-table"), kind: "pose", bring: "gripper" };
    const plain = compose(resolveTarget(cell, arm, at, "gripper", context()).baseFromFlange, tcp);
    const offset = { in: "world", pose: poseFromAbc([0, 0, 0], 0, 0, Math.PI / 2) };
    const turned = compose(resolveTarget(cell, arm, { ...at, offset }, "gripper", context()).baseFromFlange, tcp);
    for (const i of [3, 7, 11]) expect(turned[i]).toBeCloseTo(plain[i]!, 12);
    // What pointed along x now points along y.
    expect([turned[0], turned[4]]).toEqual([expect.closeTo(-plain[4]!, 12), expect.closeTo(plain[0]!, 12)]);
  });

  it("takes the name for the variant, else the default, and refuses none", () => {
    const names = { default: "a", variants: new Map([["short", "b"]]) };
    expect(nameFor(names, "short")).toBe("b");
    expect(nameFor(names, "long")).toBe("a");
    expect(() => nameFor({ variants: new Map() }, "long")).toThrow("long");
  });
});

describe("what the arm carries", () => {
  const held = new Map([["gripper", { part: "short", stage: "raw", grip: "end" }]]);

  it("has the part's frame as tool centre point while a part is held", () => {
    close(activeTcp(cell, "gripper", new Map()), tcp);
    const partFromTcp = cell.parts.get("short")!.grips.get("end")!.partFromTcp;
    close(activeTcp(cell, "gripper", held), compose(tcp, invert(partFromTcp)));
  });

  it("weighs gripper and part together", () => {
    expect(carriedLoad(cell, new Map())!.mass).toBeCloseTo(1.1, 12);
    const load = carriedLoad(cell, held)!;
    expect(load.mass).toBeCloseTo(1.1 + 0.33, 12);
    // Centre by hand: the part's centre is 30 mm up its axis, the grip 48 mm up, so it lies 18 mm beyond the TCP at 150 mm.
    expect(load.centre[2]).toBeCloseTo((1.1 * 0.06 + 0.33 * 0.168) / 1.43, 12);
  });
});
