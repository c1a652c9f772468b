import { expect, it } from "vitest";
import { smallLathe, textSource } from "../../../test/cells/texts.ts";
import { loadCell } from "../load.ts";

const load = (guarding: string) =>
  loadCell("cell.yaml", textSource({ "cell.yaml": `${smallLathe}\nguarding:\n${guarding}\n` }));

it("reads safety functions, judgements, monitoring and what zones are made of", () => {
  const loaded = load(`
  zones:
    front: { zone: doorway, by: light curtain, resolution: single beams, field: horizontal, height: 300 mm }
  monitoring: { intrusion: 200 mm, sensor uncertainty: 50 mm, arm uncertainty: 10 mm }
  safety functions:
    stop:
      covers: [arm-impact]
      required: d
      category: 3
      channels: [[{ MTTFd years: 50, DC: 90 % }], [{ B10d cycles: 2e6, every: 90 s, DC: 60 % }]]
      CCF: 65
      days per year: 250
      hours per day: 20
  hazards: { arm-impact: { S: 1, F: 2, P: 1, reason: soft cover, measures: [foam] } }`);
  if (!loaded.ok) throw new Error(loaded.issues.map((issue) => issue.expected).join());
  expect(loaded.value.guarding).toMatchObject({
    zones: new Map([
      [
        "front",
        {
          zone: "doorway",
          by: "light curtain",
          response: "stop",
          resolution: "single beams",
          field: "horizontal",
          height: 0.3,
        },
      ],
    ]),
    monitoring: { intrusion: 0.2, sensorUncertainty: 0.05, armUncertainty: 0.01 },
    safetyFunctions: new Map([
      [
        "stop",
        {
          covers: ["arm-impact"],
          required: "d",
          category: "3",
          channels: [[{ mttfdYears: 50, coverage: 0.9 }], [{ b10dCycles: 2e6, every: 90, coverage: 0.6 }]],
          commonCause: 65,
          daysPerYear: 250,
          hoursPerDay: 20,
        },
      ],
    ]),
    hazards: new Map([
      ["arm-impact", { severity: 1, exposure: 2, avoidance: 1, reason: "soft cover", measures: ["foam"] }],
    ]),
  });
});

// Impossible, negative or mistaken: told as issues with a place, never replaced by a default.
it.each([
  ["people: { a: { body: [hnd] } }", "unknown-word"],
  ["people: { a: { body: [hand], approach speed: -1 m/s } }", "out-of-range"],
  ["people: { a: { every: 0 s } }", "out-of-range"],
  ["zones: { f: { zone: doorway, by: light curtain, resolution: -14 mm } }", "out-of-range"],
  ["zones: { f: { zone: doorway, by: light curtain, resolution: 14 } }", "missing-unit"],
  ["zones: { f: { zone: doorway, by: radar } }", "unknown-word"],
  ["zones: { f: { zone: doorway, by: scanner, height: -1 mm } }", "out-of-range"],
  ["stopping: { reaction time: -0.1 s }", "out-of-range"],
  ["contact surfaces: { jaw: { on: gripper, area: 0 cm^2 } }", "out-of-range"],
  ["contact surfaces: { jaw: { on: grippr, area: 1 cm^2 } }", "missing-gripper"],
  ["monitoring: { intrusion: -1 mm }", "out-of-range"],
  ["safety functions: { s: { category: 5 } }", "unknown-word"],
  ["safety functions: { s: { required: f } }", "unknown-word"],
  ["safety functions: { s: { CCF: 101 } }", "out-of-range"],
  ["safety functions: { s: { channels: [] } }", "wrong-length"],
  ["safety functions: { s: { channels: [[{ MTTFd years: -3 }]] } }", "out-of-range"],
  ["safety functions: { s: { channels: [[{ MTTFd years: 3, DC: 120 % }]] } }", "out-of-range"],
  ["safety functions: { s: { channels: [[{ MTTFd years: 3, B10d cycles: 5 }]] } }", "conflicting-keys"],
  ["hazards: { arm-impact: { S: 3 } }", "out-of-range"],
])("%s is an issue: %s", (guarding, code) => {
  const loaded = load(`  ${guarding}`);
  expect(loaded.ok ? [] : loaded.issues.map((issue) => issue.code)).toEqual([code]);
});
