/** Three ways to write one orientation give one pose. */
import fc from "fast-check";
import { expect, it } from "vitest";
import { smallLathe, textSource } from "../../../test/cells/texts.ts";
import { poseFromAbc } from "../../math/pose.ts";
import { formatIssue, loadCell } from "../index.ts";

function framesOf(frames: Record<string, unknown>) {
  const lines = Object.entries(frames).map(([name, frame]) => `    ${name}: ${JSON.stringify(frame)}\n`);
  const text = smallLathe.replace("  frames:\n", `  frames:\n${lines.join("")}`);
  const loaded = loadCell("cell.yaml", textSource({ "cell.yaml": text }));
  if (!loaded.ok) throw new Error(loaded.issues.map(formatIssue).join("\n"));
  return loaded.value.frames;
}

it("reads a, b, c as rotations about fixed X, Y, Z, and the same turn as axes and as a quaternion", () => {
  const angle = fc.integer({ min: -1790, max: 1790 });
  fc.assert(
    fc.property(angle, angle, angle, (a, b, c) => {
      const rad = Math.PI / 1800;
      const pose = poseFromAbc([0.1, 0.2, 0.3], a * rad, b * rad, c * rad);
      const column = (i: number) => [pose[i]!, pose[i + 4]!, pose[i + 8]!];
      // Quaternion of Rz·Ry·Rx by the half-angle product (Diebel, Representing Attitude, 2006, eq. 290; recalled).
      const [ca, sa] = [Math.cos((a * rad) / 2), Math.sin((a * rad) / 2)];
      const [cb, sb] = [Math.cos((b * rad) / 2), Math.sin((b * rad) / 2)];
      const [cc, sc] = [Math.cos((c * rad) / 2), Math.sin((c * rad) / 2)];
      const q = [
        ca * cb * cc + sa * sb * sc,
        sa * cb * cc - ca * sb * sc,
        ca * sb * cc + sa * cb * sc,
        ca * cb * sc - sa * sb * cc,
      ];
      const at = ["100 mm", "0.2 m", "30 cm"];
      // The second axis is given skewed by half the first, and both too long: the loader squares it.
      const skew = column(0).map((x, k) => 3 * x + 0.5 * column(2)[k]!);
      const frames = framesOf({
        one: { at, abc: [`${a / 10} deg`, `${b / 10} deg`, `${c / 10} deg`] },
        two: { at, axes: { z: column(2).map((z) => 2 * z), x: skew } },
        three: { at, quaternion: q },
      });
      for (const name of ["one", "two", "three"]) {
        const read = frames.get(name)!.worldFromFrame;
        for (let i = 0; i < 16; i++) expect(read[i]).toBeCloseTo(pose[i]!, 9);
      }
    }),
    { seed: 9787, numRuns: 12 },
  );
});

it("completes every pair of axes to a right-handed frame, keeping the first as written", () => {
  const frames = framesOf({
    zx: { axes: { z: [0, 0, -1], x: [1, 0, 0] } },
    xy: { axes: { x: [0, 1, 0], y: [1, 1, 0] } },
    yz: { axes: { y: [0, 0, 2], z: [0, 1, 1] } },
  });
  const rotation = (name: string) =>
    [...frames.get(name)!.worldFromFrame].filter((_, i) => i < 12 && i % 4 < 3).map((x) => Math.round(x));
  expect(rotation("zx")).toEqual([1, 0, 0, 0, -1, 0, 0, 0, -1].map((x) => x || expect.closeTo(0)));
  expect(rotation("xy")).toEqual([0, 1, 0, 1, 0, 0, 0, 0, -1].map((x) => x || expect.closeTo(0)));
  expect(rotation("yz")).toEqual([-1, 0, 0, 0, 0, 1, 0, 1, 0].map((x) => x || expect.closeTo(0)));
});
