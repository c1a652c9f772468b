/** Guarding of the small lathe cell: one simulated run, many guarding sections. */
import { beforeAll, describe, expect, it } from "vitest";
import { smallLathe, textSource } from "../../../test/cells/texts.ts";
import { buildArm } from "../../arm/index.ts";
import { type Cell, formatIssue, loadCell } from "../../cell/index.ts";
import type { GoStep } from "../../cell/steps.ts";
import { type CycleRun, type Mover, simulate } from "../../cycle/index.ts";
import { separationDistance } from "../../guarding/index.ts";
import type { MotionFailure } from "../../motion/index.ts";
import { type Survey, surveyClearance } from "../clearance/survey.ts";
import { FindingList } from "../findings.ts";
import { createMover } from "../mover.ts";
import { surveyApproaches } from "./approach.ts";
import { costOf } from "./cost.ts";
import { addGuardFindings } from "./findings.ts";
import { guardRuns } from "./guard-runs.ts";
import { type Sample, surveyMotions } from "./motion-survey.ts";

type Run = CycleRun<MotionFailure>;

/** The small cell without its fence, with an apron in front of the tables. */
const open = smallLathe
  .replace(/^ {2}fence: .*$/m, "")
  .replace(
    /^ {2}zones:$/m,
    "  zones:\n    apron: { shapes: { field: { box: [2, 0.2, 2 m], at: [0, -0.9, 1 m] } } }\n    yard: { shapes: { field: { box: [1, 1, 2 m], at: [9, 9, 1 m] } } }",
  );
const noMasses = open.replaceAll(/mass: [\d.]+ kg, *centre: \[[^\]]*\], *inertia: \[[^\]]*\],? ?/g, "");

function cellOf(guarding: string, text = open): Cell {
  const loaded = loadCell("cell.yaml", textSource({ "cell.yaml": `${text}\nguarding:\n${guarding}\n` }));
  if (!loaded.ok) throw new Error(loaded.issues.map(formatIssue).join("\n"));
  return loaded.value;
}

const plain = cellOf("  stopping: { reaction time: 0.1 s }");
const arm = buildArm(plain.arm);
let run: Run;
let survey: Survey;
beforeAll(() => {
  run = simulate(plain, createMover(plain, arm), { variant: "short", pace: "nominal" });
  survey = surveyClearance(plain, arm, [[run]])!;
});

function findingsOf(cell: Cell): { code: string; message: string; where: string; severity: string }[] {
  const findings = new FindingList(cell);
  addGuardFindings(cell, guardRuns(cell, buildArm(cell.arm), [run], survey), findings);
  return findings.sorted();
}
const codesOf = (guarding: string, text?: string) => findingsOf(cellOf(guarding, text)).map(({ code }) => code);

const STOPPING = "  stopping: { reaction time: 0.1 s, stopping time: 0.4 s, stopping distance: 0.3 m }";
const LOADER = "  people: { loader: { place: loading-side } }";

describe("ways to the arm", () => {
  const moment = (points: Sample["points"], stop = { time: 0.2, distance: 0.1, joint: 0 }): Sample => ({
    step: plain.routines.get("pick")!.steps[0] as GoStep,
    points,
    speed: 1,
    stop,
  });
  const totalStop = ({ stop }: Sample) => ({ time: 0.1 + stop.time, distance: stop.distance });

  it("from the place at (0.3, -1.1), through an apron that begins at y = -1, to a point at (0.3, 0): 1 m placed", () => {
    const cell = cellOf(`${LOADER}\n  zones: { front: { zone: apron, by: light curtain, resolution: 30 mm } }`);
    const [approach] = surveyApproaches(cell, [moment([[0.3, 0]])], totalStop);
    // 0.3 s and 30 mm are 608 mm (ISO 13855:2010), and 100 mm that the tool goes on.
    expect(approach).toMatchObject({ fenced: 0, watched: 1, open: 0, nearestOpen: null, stopped: true });
    const [zone] = approach!.zones;
    expect(zone!.placed_m).toBeCloseTo(1, 9);
    expect(zone!.separation_m).toBeCloseTo(0.608, 9);
    expect(zone!.needed_m).toBeCloseTo(0.708, 9);
    expect(zone!.missing_m).toBeCloseTo(-0.292, 9);
  });

  it("the worst point counts, and one past the zone is open", () => {
    const cell = cellOf(`${LOADER}\n  zones: { front: { zone: apron, by: light curtain, resolution: 30 mm } }`);
    const near = moment([[0.3, -0.5]]);
    const [approach] = surveyApproaches(cell, [moment([[0.3, 0]]), near, moment([[5, -1.1]])], totalStop);
    expect(approach!.zones[0]!.missing_m).toBeCloseTo(0.708 - 0.5, 9);
    expect(approach).toMatchObject({ open: 1 / 3, watched: 2 / 3, stopped: false });
    expect(approach!.nearestOpen!.distance_m).toBeCloseTo(4.7, 9);
  });

  it("a fence bars, and the first on the way counts", () => {
    const cell = cellOf(
      `${LOADER}\n  zones: { front: { zone: apron, by: light curtain, resolution: 30 mm } }`,
      open.replace(/^ {2}zones:$/m, "  fence: { height: 2 m, posts: [[-1 m, -1.05 m], [1 m, -1.05 m]] }\n  zones:"),
    );
    expect(surveyApproaches(cell, [moment([[0.3, 0]])], totalStop)[0]).toMatchObject({
      fenced: 1,
      watched: 0,
      nearestFenced: { panel: "fence-1", step: "pick[0]" },
    });
    // From the near face of the panel, 40 mm thick about y = -1.05.
    expect(surveyApproaches(cell, [moment([[0.3, 0]])], totalStop)[0]!.nearestFenced!.distance_m).toBeCloseTo(1.07, 9);
  });
});

it("what no motion moves is no hazard: base and shoulder are left out of the ways, elbow to tool are not", () => {
  const { samples } = surveyMotions(plain, arm, [run], []);
  // Joint origins 1 to 6, flange and tool centre point are eight; the first two stay on the base axis.
  for (const { points } of samples) expect(points).toHaveLength(6);
  for (const { points } of samples) expect(points.every(([x, y]) => Math.hypot(x, y) < 1.6)).toBe(true);
});

it("distances follow from the stops of the run: needed = S(reaction + larger stopping time) + larger way", () => {
  const cell = cellOf(
    `${LOADER}\n${STOPPING}\n  zones: { front: { zone: apron, by: light curtain, resolution: 30 mm } }`,
  );
  const { report } = guardRuns(cell, arm, [run], survey);
  const [zone] = report.approaches[0]!.zones;
  const time = Math.max(0.4, zone!.time_s! - 0.1) + 0.1;
  const expected = separationDistance({ kind: "curtain", resolution: 0.03 }, time);
  expect(zone!.separation_m).toBeCloseTo(expected.ok ? expected.distance : Number.NaN, 9);
  expect(zone!.time_s).toBeGreaterThanOrEqual(0.5);
  expect(zone!.overtravel_m).toBeGreaterThanOrEqual(0.3);
  expect(zone!.missing_m).toBeCloseTo(zone!.needed_m! - zone!.placed_m, 12);
});

describe("contact", () => {
  const touched = `  people: { loader: { place: loading-side, body: [hand, chest] } }\n${STOPPING}\n  contact surfaces: { jaw: { on: gripper, area: 2 cm^2 } }`;

  it("steps that hit too hard are errors where nothing stops the arm before", () => {
    const cell = cellOf(touched);
    const { report } = guardRuns(cell, arm, [run], survey);
    const hard = report.contact.steps.filter(({ ratio }) => ratio! > 1).map(({ step }) => step);
    expect(hard.length).toBeGreaterThan(2);
    const findings = findingsOf(cell).filter(({ code }) => code === "contact-too-hard");
    expect(findings.map(({ where }) => where).sort()).toEqual(hard.map((id) => `routines.${id}`).sort());
    for (const step of report.contact.steps) {
      expect(step.simplified_kg).toBeGreaterThanOrEqual(30.5 / 2 + 1.1 - 1e-9);
      expect(step.effectiveMin_kg).toBeGreaterThan(1.1);
      expect(step.region).toBe("chest");
    }
  });

  it("is no finding behind a fence, nor where a zone stops the arm in time", () => {
    expect(codesOf(touched, smallLathe)).not.toContain("contact-too-hard");
  });

  it("what the limits cost: as when the whole cell runs with the tool speeds limited, and then no blow is too hard", () => {
    const cell = cellOf(touched);
    const before = surveyMotions(cell, arm, [run], ["hand", "chest"]);
    const cap = ({ id }: GoStep) => before.steps.get(id)?.cap ?? Number.POSITIVE_INFINITY;
    const cost = costOf(cell, "contact", run, createMover(cell, arm), cap);
    expect(cost.notPlanned).toEqual([]);
    expect(cost.limited_s).toBeGreaterThan(run.period + 0.1);
    const base = createMover(cell, arm);
    const slowed: Mover<MotionFailure> = {
      press: (step, context) => base.press(step, context),
      go: (chain, context) =>
        base.go(
          chain.map((step) =>
            cap(step) === Number.POSITIVE_INFINITY
              ? step
              : {
                  ...step,
                  speed: {
                    ...step.speed,
                    tool: Math.min(cap(step), step.speed.tool ?? (step.by === "joint" ? 9 : cell.motion.lineSpeed)),
                  },
                },
          ),
          context,
        ),
    };
    const again = simulate(cell, slowed, { variant: "short", pace: "nominal" });
    expect(cost.limited_s).toBeCloseTo(again.period, 6);
    const after = surveyMotions(cell, arm, [again], ["hand", "chest"]);
    for (const { ratio } of after.steps.values()) expect(ratio).toBeLessThan(1.001);
  });

  it("lower speeds cost time, the lower the more", () => {
    const periods = [0.1, 0.25, 0.5].map(
      (speed) => costOf(plain, "", run, createMover(plain, arm), () => speed).limited_s,
    );
    expect(periods[0]!).toBeGreaterThan(periods[1]!);
    expect(periods[1]!).toBeGreaterThan(periods[2]!);
    expect(periods[2]!).toBeGreaterThan(run.period - 1e-9);
  });
});

describe("what is missing or impossible is told, with what it makes unknowable", () => {
  const front = (more: string) => `${LOADER}\n${STOPPING}\n  zones: { front: { zone: apron, ${more} } }`;
  it.each([
    ["reaction-time-not-stated", `${LOADER}\n  zones: { front: { zone: apron, by: gate } }`],
    ["stopping-not-stated", `${LOADER}\n  stopping: { reaction time: 0.1 s }`],
    ["place-not-stated", "  people: { loader: {} }"],
    ["approach-speed-low", "  people: { loader: { place: loading-side, approach speed: 1 m/s } }"],
    ["way-not-guarded", LOADER],
    ["separation-unknown", front("by: light curtain")],
    ["separation-unknown", front("by: scanner")],
    ["separation-unknown", front("by: scanner, height: 200 mm, resolution: 70 mm")],
    ["separation-too-short", front("by: scanner, height: 300 mm, resolution: 70 mm")],
    ["zone-not-passed", `${LOADER}\n${STOPPING}\n  zones: { front: { zone: yard, by: gate } }`],
    ["contact-not-permitted", "  people: { loader: { place: loading-side, body: [face] } }"],
    ["monitoring-term-not-stated", `${LOADER}\n${STOPPING}\n  monitoring: { intrusion: 200 mm }`],
    [
      "monitored-distance-too-short",
      `${LOADER}\n${STOPPING}\n  monitoring: { intrusion: 0 mm, sensor uncertainty: 0 mm, arm uncertainty: 0 mm }`,
    ],
    ["hazard-unknown", "  hazards: { arm-inpact: { S: 1 } }"],
    ["hazard-unknown", "  safety functions: { stop: { covers: [nothing] } }"],
    ["hazard-not-covered", "  safety functions: { stop: { covers: [teaching] } }"],
    ["level-unknown", "  safety functions: { stop: { covers: [teaching] } }"],
    [
      "level-not-reached",
      "  safety functions: { stop: { covers: [arm-impact], category: B, channels: [[{ MTTFd years: 20 }]] } }",
    ],
    [
      "part-wears-out",
      "  safety functions: { stop: { covers: [teaching], category: 1, channels: [[{ B10d cycles: 1e6, every: 60 s }]], days per year: 300, hours per day: 24 } }",
    ],
  ])("%s", (code, guarding) => expect(codesOf(guarding)).toContain(code));

  it("process-not-barred, where the spindle turns with the door anywhere", () => {
    const anywhere = open.replace("needs: { door: closed, chuck: closed }", "needs: { chuck: closed }");
    const [found] = findingsOf(cellOf(STOPPING, anywhere));
    expect(found).toMatchObject({ code: "process-not-barred", where: "machines.lathe.processes.turning" });
    expect(found!.message).toContain("starts wherever lathe.door may stand");
    expect(codesOf(STOPPING)).toEqual([]);
  });

  it("how the arm stops, where neither limits of the joints nor times are stated", () => {
    const noLimits = open.replaceAll(/acceleration: \d+ deg\/s\^2, +jerk: \d+ deg\/s\^3, +/g, "");
    const zone = "  zones: { front: { zone: apron, by: gate } }";
    const found = findingsOf(cellOf(`${LOADER}\n  stopping: { reaction time: 0.1 s }\n${zone}`, noLimits));
    expect(found.find(({ code }) => code === "stopping-not-stated")!.severity).toBe("warning");
    expect(found.find(({ code }) => code === "separation-unknown")!.message).toContain("how the arm stops");
    // Once it is stated the distance can be told.
    const told = codesOf(`${LOADER}\n${STOPPING}\n${zone}`, noLimits);
    expect(told).toContain("separation-too-short");
    expect(told).not.toContain("separation-unknown");
  });

  it("contact-unknown, for an arm without masses", () => {
    const codes = codesOf("  people: { loader: { place: loading-side, body: [hand] } }", noMasses);
    expect(codes).toContain("contact-unknown");
    expect(codes).not.toContain("contact-too-hard");
  });

  it("guarding-not-stated, where nothing is", () => {
    const loaded = loadCell("cell.yaml", textSource({ "cell.yaml": open }));
    expect(findingsOf((loaded as { value: Cell }).value).map(({ code }) => code)).toEqual(["guarding-not-stated"]);
  });
});

describe("the register", () => {
  it("has an entry for every device that moves, gripper and process, each with a reason for its parameters", () => {
    const { report } = guardRuns(plain, arm, [run], survey);
    const ids = report.hazards.map(({ id }) => id);
    for (const id of [
      "arm-impact",
      "arm-crush",
      "crush-lathe-door",
      "crush-lathe-chuck",
      "process-lathe-turning",
      "crush-gripper",
      "drop-gripper",
      "unexpected-start",
      "teaching",
    ])
      expect(ids).toContain(id);
    expect(new Set(ids).size).toBe(ids.length);
    for (const { risk } of report.hazards)
      if (risk !== undefined) for (const p of [risk.S, risk.F, risk.P]) expect(p.reason.length).toBeGreaterThan(5);
    const process = report.hazards.find(({ id }) => id === "process-lathe-turning")!;
    expect(process.measures).toEqual([
      "does not start unless lathe.door is closed",
      "does not start unless lathe.chuck is closed",
    ]);
  });

  it("takes judgements from the file, and the level with them", () => {
    const cell = cellOf("  hazards: { arm-impact: { S: 1, F: 1, P: 1, reason: soft cover, measures: [foam] } }");
    const entry = guardRuns(cell, arm, [run], survey).report.hazards.find(({ id }) => id === "arm-impact")!;
    expect(entry.risk).toMatchObject({ required: "a", S: { value: 1, reason: "soft cover", stated: true } });
    expect(entry.measures).toContain("foam");
  });

  it("how often people come decides F", () => {
    const f = (every: string) =>
      guardRuns(cellOf(`  people: { a: { every: ${every} } }`), arm, [run], survey).report.hazards[0]!.risk!.F.value;
    expect(f("14 min")).toBe(2);
    expect(f("15 min")).toBe(1);
  });
});

it("nothing in the report calls anything safe, and the caution goes with it", () => {
  const cell = cellOf(`${LOADER}\n${STOPPING}`);
  const { report } = guardRuns(cell, arm, [run], survey);
  expect(report.caution).toContain("licensed people");
  const { caution: _, ...rest } = report;
  expect(JSON.stringify(rest)).not.toMatch(/\bsafe(ly)?\b/i);
});
