/** A cell whose handling is fully stated and fits, and one thing wrong in it at a time: exactly that is found. */
import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { smallLathe, textSource } from "../../../test/cells/texts.ts";
import { buildArm, createDynamics, geometricJacobian } from "../../arm/index.ts";
import { type Cell, type Fit, formatIssue, loadCell } from "../../cell/index.ts";
import { simulate } from "../../cycle/index.ts";
import { MotionMemory } from "../../motion/index.ts";
import { activeTcp, carriedLoad } from "../load.ts";
import { createMover, gravityInBase, movesMade } from "../mover.ts";
import { pushDirection } from "../press.ts";
import { tcpOf } from "../targets.ts";
import { sizeHandling } from "./index.ts";
import { type SizeReport, sizeCell } from "./size-cell.ts";

const HANDLING = `
handling:
  safety factor: 2
  jaw room: 1 mm
  insertions: 20000
  deviations:
    tray: { within: 0.2 mm, distribution: uniform }
    jaws: { within: 0.05 mm, distribution: normal }
    tcp: { within: 0.1 mm, tilt: 0.05 deg, distribution: normal }
    frame: { within: 0.2 mm, tilt: 0.1 deg, distribution: normal, at: [lathe.chuck] }
  fits:
    lathe.chuck: { bore: 32 mm, tolerance: 0.1 mm, chamfer: 1 mm, part chamfer: 0.5 mm, depth: 12 mm, friction: 0.15, push limit: 300 N }
`;
const GRIPPER = "      opening: 40 mm\n      jaw moment: 8 N m\n      finger length: 30 mm\n      stroke: 20 mm\n";
const whole = smallLathe
  .replace("      stroke: 20 mm\n", GRIPPER)
  .replaceAll("width: 30 mm, way: friction }", "width: 30 mm, way: friction, oily friction: 0.12, side: outside }")
  .concat(HANDLING);

function cellOf(text: string): Cell {
  const loaded = loadCell("cell.yaml", textSource({ "cell.yaml": text }));
  if (!loaded.ok) throw new Error(loaded.issues.map(formatIssue).join("\n"));
  return loaded.value;
}

/** Most of the cells ask for the same motions. */
const memory = new MotionMemory();

/** The report after replacements, each of which must find its text. */
function sized(...changes: readonly (readonly [find: string, put: string])[]): SizeReport {
  let text = whole;
  for (const [find, put] of changes) {
    expect(text).toContain(find);
    text = text.replaceAll(find, put);
  }
  return sizeCell(cellOf(text), { memory });
}

const codes = (report: SizeReport) => report.findings.map(({ code, severity }) => `${severity} ${code}`);

const good = sized();

describe("a cell that states everything", () => {
  it("has no finding, and nothing taken by default", () => {
    expect(good.findings).toEqual([]);
    const [grip] = good.grip;
    expect(grip!.cautions).not.toEqual(expect.arrayContaining([expect.stringContaining("stated")]));
    expect(grip!.sizing.safetyFactorFrom).toBe("stated");
    expect(grip!.sizing.margin).toBeGreaterThan(1.2);
    const chuck = good.seating.find(({ holder }) => holder === "lathe.chuck")!;
    expect(chuck.fit!.missing).toEqual([]);
    expect(chuck.fit!.trial.enters).toBe(1);
    expect(chuck.press!.slip_N).toBeCloseTo(2 * 0.15 * 140, 9);
  });

  it("is sized the same when asked again", () => {
    expect(JSON.stringify(sized())).toBe(JSON.stringify(good));
  });

  it("weighs the part before and after machining", () => {
    expect(good.loads.map(({ load, mass_kg }) => [load, Number(mass_kg.toFixed(3))])).toEqual([
      ["empty", 1.1],
      ["short raw in gripper", 1.43],
      ["short turned in gripper", 1.38],
    ]);
    const [raw, turned] = good.grip[0]!.sizing.stages;
    expect(raw!.mass_kg).toBe(0.33);
    expect(turned!.mass_kg).toBe(0.28);
  });
});

type Case = readonly [
  what: string,
  changes: readonly (readonly [string, string])[],
  found: readonly string[],
  says: RegExp,
];

const cases: readonly Case[] = [
  [
    "a gripper too weak",
    [["force: 140 N", "force: 25 N"]],
    ["error grip-too-weak", "warning press-slips-in-jaws"],
    /the gripper gives 25 N/,
  ],
  ["no force", [["      force: 140 N\n", ""]], ["caution grip-force-not-stated"], /force is not stated/],
  [
    "no friction",
    [
      ["      friction: 0.15\n", ""],
      [", oily friction: 0.12", ""],
    ],
    ["caution friction-not-stated"],
    /unknowable/,
  ],
  ["a weak jaw", [["jaw moment: 8 N m", "jaw moment: 0.02 N m"]], ["error jaw-moment-exceeded"], /rated are 0.02 N m/],
  ["jaws too narrow", [["opening: 40 mm", "opening: 30 mm"]], ["error jaws-too-narrow"], /0.10 mm per side too close/],
  [
    "jaws with little room",
    [["opening: 40 mm", "opening: 31.8 mm"]],
    ["warning jaws-open-scant"],
    /leave 0.80 mm per side/,
  ],
  [
    "jaws that do not close far enough",
    [["opening: 40 mm", "opening: 52 mm"]],
    ["error jaws-do-not-reach"],
    /2.20 mm before they hold the thinnest/,
  ],
  [
    "jaws that do not spread far enough",
    [
      ["side: outside", "side: inside"],
      ["opening: 40 mm", "opening: 30.1 mm"],
    ],
    ["error jaws-do-not-reach"],
    /0.10 mm before they hold the widest/,
  ],
  [
    "a friction beyond belief",
    [["friction: 0.15\n", "friction: 1.5\n"]],
    ["caution friction-improbable"],
    /1.5 \(of the gripper\)/,
  ],
  ["no jaw moment", [["      jaw moment: 8 N m\n", ""]], ["caution jaws-not-stated"], /no `jaw moment`/],
  ["no opening", [["      opening: 40 mm\n", ""]], ["caution jaws-not-stated"], /no `opening`/],
  ["no width", [["width: 30 mm, ", ""]], ["caution jaws-not-stated"], /no `width` of the grip on short/],
  ["a part too thick", [["bore: 32 mm", "bore: 29 mm"]], ["error part-too-thick"], /30.00 mm into 29.00 mm/],
  [
    "a frame too uncertain",
    [
      ["frame: { within: 0.2 mm", "frame: { within: 5 mm"],
      ["expect: 2 mm", "expect: 8 mm"],
      ["travel: 5 mm", "travel: 16 mm"],
    ],
    ["warning part-may-miss"],
    /most of the spread comes from frame/,
  ],
  [
    "a tilt that can wedge",
    [
      ["bore: 32 mm, tolerance: 0.1 mm", "bore: 30.3 mm, tolerance: 0 mm"],
      ["tilt: 0.1 deg", "tilt: 5 deg"],
      ["    tolerance: 0.2 mm\n", ""],
    ],
    ["warning part-may-wedge"],
    /can wedge/,
  ],
  ["a stop too weak", [["push limit: 300 N", "push limit: 15 N"]], ["error press-above-limit"], /allow 15 N/],
  [
    "a push that slips",
    [["force: 20 N", "force: 60 N"]],
    ["warning press-slips-in-jaws"],
    /at 42 N, and it is pressed with 60 N/,
  ],
  [
    "too short a travel",
    [["travel: 5 mm, expect: 2 mm", "travel: 2.4 mm, expect: 2 mm"]],
    ["warning press-travel-short"],
    /at least 2.58 mm|not seated/,
  ],
  [
    "contact before the push",
    [["travel: 5 mm, expect: 2 mm", "travel: 5 mm, expect: 0.3 mm"]],
    ["caution press-contact-early"],
    /touch before/,
  ],
  ["no fit", [["lathe.chuck: { bore", "raw-tray: { bore"]], ["caution fit-not-stated"], /for lathe.chuck/],
  [
    "a part whose thickness is not known",
    [["shape: { cylinder: { diameter: 30 mm, length: 60 mm }", "shape: { box: [30, 30, 60 mm]"]],
    ["caution fit-not-stated"],
    /how thick/,
  ],
  [
    "a load too heavy",
    [["rated load: { mass: 6 kg", "rated load: { mass: 1.2 kg"]],
    ["error rated-load-exceeded"],
    /1.43 kg/,
  ],
  [
    "a motion that cannot be done",
    [["offset: [0, 0, 80 mm] }\n", "offset: [0, 0, 2000 mm] }\n"]],
    ["error size-incomplete"],
    /pick\[1\]/,
  ],
];

describe("planted in it", () => {
  it.each(cases)("%s", (_, changes, found, says) => {
    const report = sized(...changes);
    expect(codes(report)).toEqual(found);
    expect(report.findings[0]!.message + report.findings[0]!.mend).toMatch(says);
  });
});

describe("figures of the report", () => {
  const cell = cellOf(whole);
  const arm = buildArm(cell.arm);
  const run = simulate(cell, createMover(cell, arm), { variant: "short", pace: "nominal" });

  it("torques are no less than those of the motions' own survey, and the margins what is left of the limits", () => {
    const share = new Float64Array(arm.n);
    for (const { move } of movesMade([run]))
      for (let i = 0; i < arm.n; i++) share[i] = Math.max(share[i]!, move.motion.torqueShare![i]!);
    for (let i = 0; i < arm.n; i++) {
      const used = Math.max(...good.loads.map(({ joints }) => joints[i]!.torque_Nm / joints[i]!.limit_Nm!));
      expect(used / share[i]!).toBeGreaterThan(0.93);
      expect(used / share[i]!).toBeLessThan(1.02);
      for (const { joints } of good.loads)
        expect(joints[i]!.margin).toBeCloseTo(1 - joints[i]!.torque_Nm / joints[i]!.limit_Nm!, 12);
    }
  });

  it("the arm's limit of a push is where one joint's torque is just used up", () => {
    const press = run.moves.find(({ kind }) => kind === "press")!;
    const { context, outcome } = press;
    if (!outcome.ok) throw new Error("the press of the fixture cannot be done");
    const limit = good.seating.find((s) => s.press !== null)!.press!;
    const push = {
      q: outcome.end,
      flangeFromGripper: tcpOf(cell, "gripper"),
      flangeFromPoint: activeTcp(cell, "gripper", context.held),
    };
    const torque = createDynamics(arm).gravityTorque(
      push.q,
      gravityInBase(cell),
      carriedLoad(cell, context.held),
      new Float64Array(arm.n),
    );
    const jacobian = geometricJacobian(arm, push.q, push.flangeFromPoint, new Float64Array(6 * arm.n));
    const direction = pushDirection(arm, push);
    const shares = [...torque].map((t, i) => {
      const perNewton = [0, 1, 2].reduce((sum, r) => sum + jacobian[r * arm.n + i]! * direction[r]!, 0);
      return Math.abs(t + perNewton * limit.armLimit_N!) / arm.torque[i]!;
    });
    expect(Math.max(...shares)).toBeCloseTo(1, 9);
    expect(arm.jointNames[shares.indexOf(Math.max(...shares))]).toBe(limit.armJoint);
  });

  it("a push at an angle to the place is measured, and can jam", () => {
    expect(good.seating.find((s) => s.press !== null)!.press!.tilt_rad).toBeCloseTo(0, 6);
    const grip = sized(["at: [0, 0, 48 mm], abc: [180, 0, 0 deg]", "at: [0, 0, 48 mm], abc: [165, 0, 0 deg]"]);
    const { press } = grip.seating.find((s) => s.press !== null)!;
    expect(press!.tilt_rad).toBeCloseTo((15 * Math.PI) / 180, 6);
    expect(press!.jamming).toBeGreaterThan(good.seating.find((s) => s.press !== null)!.press!.jamming!);
    expect(codes(grip)).toContain("warning press-off-axis");
  });

  it("trial insertions follow the seed of the cell", () => {
    const of = (report: SizeReport) => report.seating.find((s) => s.fit !== null)!.fit!.trial;
    const loose: [string, string] = ["frame: { within: 0.2 mm", "frame: { within: 5 mm"];
    const first = of(sized(loose, ["insertions: 20000", "insertions: 20000\n  seed: 5"]));
    const second = of(sized(loose, ["insertions: 20000", "insertions: 20000\n  seed: 6"]));
    expect(first.seed).toBe(5);
    expect(first.enters).not.toBe(second.enters);
    expect(Math.abs(first.enters - second.enters)).toBeLessThan(8 * first.standardError);
  });
});

describe("whatever fits and deviations are stated", () => {
  const cell = cellOf(whole);
  const arm = buildArm(cell.arm);
  const run = simulate(cell, createMover(cell, arm, memory), { variant: "short", pace: "nominal" });
  const size = (min: number, max: number) => fc.double({ min, max, noNaN: true });
  const maybe = <T>(of: fc.Arbitrary<T>) => fc.option(of, { nil: undefined });
  const fit = fc.record({
    bore: size(1e-6, 1),
    tolerance: maybe(size(0, 0.01)),
    chamfer: maybe(size(0, 0.02)),
    depth: maybe(size(1e-6, 1)),
    friction: maybe(size(1e-6, 5)),
    diameter: maybe(size(1e-6, 1)),
    partChamfer: maybe(size(0, 0.02)),
    pushLimit: maybe(size(1e-3, 1e5)),
  });
  const deviation = fc.record({
    within: size(0, 0.1),
    tilt: size(0, 0.78),
    distribution: fc.constantFrom("normal" as const, "uniform" as const, "triangular" as const),
    at: fc.constantFrom<readonly string[]>([], ["lathe.chuck"], ["finished-tray"]),
  });

  it("figures are finite or said to be unknown, shares are shares, and nothing is thrown", () => {
    fc.assert(
      fc.property(fit, fc.dictionary(fc.constantFrom("tray", "jaws", "tcp", "other"), deviation), (stated, errors) => {
        const clean = Object.fromEntries(Object.entries(stated).filter(([, value]) => value !== undefined));
        const { seating } = sizeHandling(
          {
            ...cell,
            handling: {
              insertions: 1000,
              deviations: new Map(Object.entries(errors)),
              fits: new Map([["lathe.chuck", clean as unknown as Fit]]),
            },
          },
          arm,
          [run],
        );
        const seat = seating.find(({ holder }) => holder === "lathe.chuck")!;
        finite(seat);
        const { trial, worstCase, deviations } = seat.fit!;
        for (const share of [trial.enters, trial.clean, trial.mayWedge ?? 0, ...deviations.map((d) => d.share)])
          expect(share >= 0 && share <= 1 + 1e-12).toBe(true);
        expect(trial.clean).toBeLessThanOrEqual(trial.enters);
        // What enters even in the worst case enters in every trial, but for the tails of normal distributions.
        if (worstCase.enters && deviations.length === 1) expect(trial.enters).toBeGreaterThan(0.98);
      }),
      { seed: 6, numRuns: 80 },
    );
  });
});

function finite(value: unknown): void {
  if (typeof value === "number") expect(Number.isFinite(value)).toBe(true);
  else if (typeof value === "object" && value !== null) for (const inner of Object.values(value)) finite(inner);
}
