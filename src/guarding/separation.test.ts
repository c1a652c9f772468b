/** ISO 13855:2010 (2024 changes details). Marks as in the collection of outside values: R recomputed, M recalled, T read in a public text. */
import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { type ProtectiveDevice, separationDistance } from "./separation.ts";

const mm = (device: ProtectiveDevice, time: number): number => {
  const found = separationDistance(device, time);
  if (!found.ok) throw new Error(found.reason);
  return 1000 * found.distance;
};
const curtain = (d: number): ProtectiveDevice => ({ kind: "curtain", resolution: d / 1000 });

describe("worked examples, ISO 13855:2010", () => {
  // Numbers R; (0.32 s, 14 mm) 640 then 512 is printed in several makers' mounting instructions (T).
  it.each([
    [0.1, 14, 200],
    [0.3, 30, 608],
    [0.32, 14, 512],
    [0.26, 14, 500],
    [0.2, 30, 500],
    [0.5, 40, 1008],
    [0.3, 50, 1330], // 40 < d: C = 850 (M, R)
    [0.01, 14, 100], // never under 100
  ])("curtain, %d s, %d mm: %d mm", (time, d, expected) => expect(mm(curtain(d), time)).toBeCloseTo(expected, 9));

  // Horizontal field, C = max(1200 - 0.4 H, 850) (R).
  it.each([
    [0.4, 300, 1720],
    [0.35, 1000, 1410],
  ])("field, %d s, H %d mm: %d mm", (time, h, expected) =>
    expect(mm({ kind: "field", height: h / 1000 }, time)).toBeCloseTo(expected, 9),
  );

  it("single beams, two-hand control, gate (M, R)", () => {
    expect(mm({ kind: "beams" }, 0.3)).toBeCloseTo(1330, 9);
    expect(mm({ kind: "two hands", shrouded: false }, 0.3)).toBeCloseTo(730, 9);
    expect(mm({ kind: "gate" }, 0.3)).toBeCloseTo(480, 9);
  });

  it("mat on the floor, C = 1200 mm (M)", () => expect(mm({ kind: "mat", height: 0 }, 0.3)).toBeCloseTo(1680, 9));
});

it("C is never negative, and the edition goes with every result", () => {
  expect(separationDistance(curtain(10), 0.2)).toMatchObject({ ok: true, intrusion: 0, edition: "ISO 13855:2010" });
  expect(mm(curtain(10), 0.2)).toBeCloseTo(400, 9);
});

it("refuses what the formula does not cover", () => {
  expect(separationDistance(curtain(71), 0.2)).toMatchObject({ ok: false });
  expect(separationDistance({ kind: "field", height: 1.01 }, 0.2)).toMatchObject({ ok: false });
  // H at least 15 (d - 50): 70 mm need 300 mm.
  expect(separationDistance({ kind: "field", height: 0.299, resolution: 0.07 }, 0.2)).toMatchObject({ ok: false });
  expect(separationDistance({ kind: "field", height: 0.3, resolution: 0.07 }, 0.2)).toMatchObject({ ok: true });
  expect(() => separationDistance({ kind: "gate" }, -0.1)).toThrow("at least 0 s, got -0.1");
  expect(() => separationDistance({ kind: "gate" }, Number.NaN)).toThrow("got NaN");
});

it("grows with the time and is never below 100 mm, for any device", () => {
  const device = fc.oneof(
    fc.double({ min: 0.001, max: 0.07, noNaN: true }).map((resolution) => ({ kind: "curtain", resolution }) as const),
    fc.constant({ kind: "beams" } as const),
    fc.double({ min: 0, max: 1, noNaN: true }).map((height) => ({ kind: "field", height }) as const),
    fc.boolean().map((shrouded) => ({ kind: "two hands", shrouded }) as const),
    fc.constant({ kind: "gate" } as const),
    fc.double({ min: 0, max: 1, noNaN: true }).map((height) => ({ kind: "mat", height }) as const),
  );
  const time = fc.double({ min: 0, max: 5, noNaN: true });
  fc.assert(
    fc.property(device, time, time, (d, a, b) => {
      const [short, long] = [mm(d, Math.min(a, b)), mm(d, Math.max(a, b))];
      expect(short).toBeGreaterThanOrEqual(100 - 1e-9);
      expect(long).toBeGreaterThanOrEqual(short - 1e-9);
    }),
    { seed: 13855, numRuns: 500 },
  );
});

it("a coarser curtain is never nearer", () => {
  const d = fc.double({ min: 1, max: 70, noNaN: true });
  fc.assert(
    fc.property(d, d, fc.double({ min: 0, max: 2, noNaN: true }), (a, b, time) => {
      expect(mm(curtain(Math.max(a, b)), time)).toBeGreaterThanOrEqual(mm(curtain(Math.min(a, b)), time) - 1e-9);
    }),
    { seed: 13855, numRuns: 500 },
  );
});
