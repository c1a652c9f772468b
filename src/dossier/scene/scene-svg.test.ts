import { describe, expect, it } from "vitest";
import type { ClearanceScene, SceneBody } from "../../check/clearance/scene.ts";
import { translation } from "../../math/pose.ts";
import { renderSceneSvg } from "./scene-svg.ts";

const at = (x: number, y: number, z: number) => translation(x, y, z);

const body = (name: string, group: SceneBody["group"], shape: SceneBody["shape"], x: number, y: number, z: number) =>
  ({ name, group, shape, worldFromBody: at(x, y, z) }) satisfies SceneBody;

const scene = (names: readonly [string, string] = ["gripper.jaws", "lathe.door.panel"]): ClearanceScene => ({
  bodies: [
    body("table", "scene", { kind: "box", size: [1, 1, 0.1] }, 0, 0, 0.05),
    body(names[0], "tool", { kind: "box", size: [0.1, 0.1, 0.1] }, 0, 0, 0.5),
    body(names[1], "device", { kind: "cylinder", radius: 0.05, length: 0.4 }, 0.106, 0, 0.5),
  ],
  pair: [1, 2],
  witness: { a: [0.05, 0, 0.5], b: [0.056, 0, 0.5], distance: 0.006 },
});

describe("sheet of a scene", () => {
  it("is the same text each time", () => {
    expect(renderSceneSvg(scene(), { title: "t" })).toBe(renderSceneSvg(scene(), { title: "t" }));
  });

  it("states the clearance and the pair, and shows five views", () => {
    const text = renderSceneSvg(scene(), { title: "Least clearance" });
    expect(text).toContain("Between gripper.jaws (1) and lathe.door.panel (2) there are 6.00 mm.");
    expect(text.match(/class="scene"/g)).toHaveLength(5);
    expect(text).not.toMatch(/NaN|Infinity|undefined/);
  });

  it("lets no name become markup", () => {
    const evil = `</svg><script>alert(1)</script>"'`;
    const text = renderSceneSvg(scene([evil, evil]), { title: evil, notes: [evil] });
    expect(text).not.toContain("<script");
    expect(text.match(/<\/svg>/g)).toHaveLength(6);
  });
});
