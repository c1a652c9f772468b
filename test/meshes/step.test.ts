/** STEP files written here are read back in metres, assemblies in place; broken ones are refused with the reason. */
import { describe, expect, it } from "vitest";
import { inspectMesh, type MeshData } from "../../src/clearance/index.ts";
import { readStep } from "../../src/cli/step-thread.ts";
import { stepAssembly, stepBox, stepCylinder } from "./write-step.ts";

async function read(bytes: Uint8Array): Promise<MeshData> {
  const got = await readStep(bytes, "a.step");
  if (!got.ok) throw new Error(JSON.stringify(got.issue));
  return got.mesh;
}

async function issue(bytes: Uint8Array) {
  const got = await readStep(bytes, "a.step");
  if (got.ok) throw new Error("was read");
  return got.issue;
}

const corners = ({ vertices }: MeshData) =>
  Array.from({ length: vertices.length / 3 }, (_, i) =>
    [...vertices.subarray(3 * i, 3 * i + 3)].map((x) => (x + 0).toFixed(9)).join(" "),
  ).sort();

describe("files that are right", () => {
  it.each([
    ["mm", [100, 50, 20], [0.1, 0.05, 0.02]],
    ["m", [0.1, 0.05, 0.02], [0.1, 0.05, 0.02]],
    ["inch", [4, 2, 1], [0.1016, 0.0508, 0.0254]],
  ] as const)("a box in %s", async (unit, size, metres) => {
    const { vertices, indices } = await read(stepBox(size, unit));
    expect(vertices.length).toBe(24);
    expect(indices.length).toBe(36);
    const report = inspectMesh(vertices, indices);
    expect(report).toMatchObject({ solid: true, volume: expect.closeTo(metres[0] * metres[1] * metres[2], 12) });
    for (const k of [0, 1, 2]) expect(report.size[k]).toBeCloseTo(metres[k]!, 12);
  });

  it("a cylinder: no corner farther from it than rounding, no facet farther inside than 0.1 mm", async () => {
    const { vertices, indices } = await read(stepCylinder(30, 100, "mm"));
    const report = inspectMesh(vertices, indices);
    expect(report.solid).toBe(true);
    const least = Math.PI * (0.03 - 0.0001) ** 2 * 0.1;
    expect(report.volume).toBeGreaterThan(least);
    expect(report.volume).toBeLessThan(Math.PI * 0.03 ** 2 * 0.1);
    for (let i = 0; i < vertices.length; i += 3)
      expect(Math.hypot(vertices[i]!, vertices[i + 1]!)).toBeCloseTo(0.03, 9);
  });

  it("an assembly: each part in its place", async () => {
    const places = [
      { at: [0, 0, 0], z: [0, 0, 1], x: [1, 0, 0] },
      { at: [200, 0, 30], z: [0, 0, 1], x: [0, 1, 0] },
      { at: [0, 300, 0], z: [1, 0, 0], x: [0, 1, 0] },
    ];
    const mesh = await read(stepAssembly([100, 50, 20], "mm", places));
    const expected = places.flatMap(({ at, z, x }) => {
      const y = [0, 1, 2].map((k) => z[(k + 1) % 3]! * x[(k + 2) % 3]! - z[(k + 2) % 3]! * x[(k + 1) % 3]!);
      return Array.from({ length: 8 }, (_, i) =>
        [0, 1, 2]
          .map((k) =>
            (
              (at[k]! + (i & 1) * 100 * x[k]! + ((i >> 1) & 1) * 50 * y[k]! + ((i >> 2) & 1) * 20 * z[k]!) / 1000 +
              0
            ).toFixed(9),
          )
          .join(" "),
      );
    });
    expect(corners(mesh)).toEqual(expected.sort());
    expect(inspectMesh(mesh.vertices, mesh.indices)).toMatchObject({ solid: true, volume: expect.closeTo(3e-4, 10) });
  });
});

describe("files that are wrong", () => {
  const text = new TextDecoder().decode(stepBox([100, 50, 20], "mm"));
  const bytes = (changed: string) => new TextEncoder().encode(changed);

  it("not STEP at all", async () => {
    expect(await issue(bytes("solid x"))).toMatchObject({ code: "mesh-syntax", found: '"solid x"' });
    expect(await issue(new Uint8Array())).toMatchObject({ code: "mesh-syntax", found: '""' });
    expect(await issue(new Uint8Array(1000).fill(200))).toMatchObject({ code: "mesh-syntax" });
  });

  it("cut off: the last line that is there", async () => {
    const half = text.slice(0, text.length / 2);
    expect(await issue(bytes(half))).toMatchObject({
      code: "mesh-truncated",
      place: { file: "a.step", line: half.split("\n").length },
    });
  });

  it("a line that is no entity, or a reference that leads nowhere, though the kernel goes on without it", async () => {
    const lines = text.split("\n");
    lines[20] = "#14=((('';";
    expect(await issue(bytes(lines.join("\n")))).toMatchObject({
      code: "mesh-syntax",
      found: expect.stringContaining("Incorrect Syntax"),
    });
    expect(await issue(bytes(text.replace("CLOSED_SHELL('',(", "CLOSED_SHELL('',(#9999,")))).toMatchObject({
      code: "mesh-syntax",
      found: expect.stringContaining("Unresolved Reference"),
    });
  });

  it("no shape in it", async () => {
    const empty = `${text.slice(0, text.indexOf("DATA;"))}DATA;\nENDSEC;\nEND-ISO-10303-21;\n`;
    expect((await issue(bytes(empty))).code).toMatch(/^mesh-(empty|syntax)$/);
  });

  it("a fault inside the kernel is an issue; a face that it leaves out shows as open edges", async () => {
    expect(await issue(bytes(text.replace("#1=", "#9001=")))).toMatchObject({ code: "mesh-syntax" });
    const { vertices, indices } = await read(bytes(text.replace("PLANE(", "BANANA(")));
    expect(inspectMesh(vertices, indices)).toMatchObject({ openEdges: 4, closed: false });
  });
});
