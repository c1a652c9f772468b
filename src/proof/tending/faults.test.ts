/** One cell for each kind of fault, with the verdict that follows by hand; the argument stands at each. */
import { describe, expect, it } from "vitest";
import {
  type CellSpec,
  cell,
  drive,
  dwell,
  free,
  go,
  hold,
  input,
  level,
  part,
  pulse,
  range,
  toggling,
  wait,
  when,
} from "../../../test/cycle/builders.ts";
import { lying, motionsOf, sweeping } from "../../../test/proof/small.ts";
import type { Cell } from "../../cell/model.ts";
import { type FaultVerdict, faultNames, proveCell } from "./prove.ts";

type Steps = CellSpec["routines"][string];

const stop = { limit: 3, otherwise: { kind: "stop", message: "it did not move" } };

/**
 * A gripper with both feedbacks that closes on "grip", spring open; a vise on a level with both feedbacks (0.5 to 1 s) in a machine
 * whose door (1 s) sweeps the bay; a chuck on a toggling pulse without feedback, its part clamped at first. Scan 0.01 s.
 */
function small(main: Steps, more: Partial<CellSpec> = {}): Cell {
  const made = cell({
    scan: 0.01,
    parts: [part("part")],
    grippers: [
      {
        device: {
          name: "grip",
          start: "open",
          command: level("grip", "closed", "open"),
          time: range(0.2, 0.4),
          feedback: { open: "grip-open", closed: "grip-closed" },
        },
        partPresent: "part-there",
      },
    ],
    machines: [
      {
        name: "mill",
        devices: [
          {
            name: "mill.vise",
            start: "open",
            command: level("clamp", "closed", "open"),
            time: range(0.5, 1),
            feedback: { open: "vise-open", closed: "vise-closed" },
            clamps: "closed",
          },
          {
            name: "mill.door",
            start: "closed",
            command: level("door", "open", "closed"),
            time: range(0.8, 1),
            feedback: { open: "door-is-open", closed: "door-is-closed" },
          },
          {
            name: "mill.chuck",
            start: "closed",
            command: toggling("toggle", 0.2),
            time: range(0.4, 0.5),
            clamps: "closed",
          },
        ],
        processes: [],
      },
    ],
    holders: [
      { name: "raw", places: 2, start: "part" },
      { name: "finished", places: 2 },
      { name: "mill.vise", device: "mill.vise" },
      { name: "mill.chuck", device: "mill.chuck", start: "part" },
    ],
    inputs: [
      ...["grip-open", "grip-closed", "vise-open", "vise-closed", "door-is-open", "door-is-closed", "part-there"],
      input("button", { operator: { delay: range(1, 3), hold: 0.5 } }),
    ],
    outputs: ["grip", "clamp", "door", "toggle", "lamp"],
    routines: { main },
    ...more,
  });
  return sweeping(lying(made, ["mill.vise", "mill.chuck"]), "mill.door", "bay");
}

function under(made: Cell, fault: string) {
  const proof = proveCell(made, { variants: new Map([["part", motionsOf(made)]]), faults: [fault] });
  expect(proof.nominal.map(({ violations, verdict }) => [verdict, violations.map((v) => v.sentence)])).toEqual([
    ["holds", []],
  ]);
  expect(proof.faults).toHaveLength(1);
  const [one] = proof.faults;
  return {
    verdict: one!.verdict satisfies FaultVerdict,
    kinds: one!.violations.map(({ trouble }) => trouble.kind),
    detectedAt: one!.detectedAt.map(({ stepId }) => stepId),
    standsAt: one!.standsAt,
  };
}

const PICK: Steps = [go("raw"), hold("grip", "raw"), go("home")];
const OPEN: Steps = [drive("door", true), wait("door-is-open", stop)];
/** Picks a part, puts it into the vise behind the door and comes back. */
const LOAD: Steps = [
  ...PICK,
  ...OPEN,
  go("mill.vise"),
  drive("clamp", true),
  wait("vise-closed", stop),
  free("grip", "mill.vise"),
  go("home"),
];

describe("faults", () => {
  it("a slow door that is awaited with a limit is told by that await", () => {
    // The await passes on the feedback or stops after 3 s; the arm is outside until then.
    expect(under(small(LOAD), "slow device mill.door open")).toEqual({
      verdict: "detected",
      kinds: [],
      detectedAt: ["main[4]"],
      standsAt: [],
    });
  });

  it("a slow door that is only given its time meets the arm", () => {
    const made = small([drive("door", true), dwell(1), go("mill.vise"), go("home")]);
    expect(under(made, "slow device mill.door open")).toMatchObject({ verdict: "dangerous", kinds: ["zone-shared"] });
  });

  it("slow jaws with feedback are waited for without end, and no message tells", () => {
    expect(under(small(PICK), "slow device grip closed")).toMatchObject({
      verdict: "stands still",
      standsAt: ["main[1]"],
    });
  });

  it("a sensor stuck on lets the arm into the moving door", () => {
    // The await passes at once; the door needs at least 0.8 s, the arm enters at the beginning of its motion.
    expect(under(small(LOAD), "stuck input door-is-open on")).toMatchObject({
      verdict: "dangerous",
      kinds: ["zone-shared"],
    });
  });

  it("a sensor stuck off is told by the limit", () => {
    expect(under(small(LOAD), "stuck input vise-closed off")).toMatchObject({
      verdict: "detected",
      detectedAt: ["main[7]"],
    });
  });

  it("jaws whose feedback is stuck on are not waited for", () => {
    expect(under(small(PICK), "stuck input grip-closed on")).toMatchObject({
      verdict: "dangerous",
      kinds: ["moved-before-jaws"],
    });
  });

  it("a button stuck off keeps the routine waiting, one stuck on starts it without being asked", () => {
    const made = small([wait("button"), ...PICK]);
    expect(under(made, "stuck input button off")).toMatchObject({ verdict: "stands still", standsAt: ["main[0]"] });
    expect(under(made, "stuck input button on")).toMatchObject({ verdict: "harmless" });
  });

  it("a wire of a spring-open gripper that breaks drops the part", () => {
    expect(under(small(PICK), "broken wire grip")).toMatchObject({ verdict: "dangerous", kinds: ["part-dropped"] });
  });

  it("a wire that breaks before the door has opened is told; later the door closes on nobody", () => {
    // The arm goes in only after the await and never: outside, the closing door meets nothing.
    const made = small([...OPEN, drive("door", false), wait("door-is-closed", stop)]);
    expect(under(made, "broken wire door")).toMatchObject({ verdict: "detected", kinds: [], detectedAt: ["main[1]"] });
  });

  it("a part that is missing is noticed only where it is asked for", () => {
    // Jaws close on nothing and the feedback of a closed gripper comes all the same.
    expect(under(small(PICK), "part missing raw")).toMatchObject({ verdict: "harmless" });
    const asks = small([...PICK, wait("part-there", { ...stop, limit: 0.1 })]);
    expect(under(asks, "part missing raw")).toMatchObject({ verdict: "detected", detectedAt: ["main[3]"] });
  });

  it("a missing part does not change what the routine counts", () => {
    // By its own count it holds a part and goes on; what is there would send it the other way, into the moving door.
    const made = small([
      ...PICK,
      drive("door", true),
      when({ kind: "gripper", gripper: "grip", has: "nothing" }, [go("mill.vise")]),
    ]);
    expect(under(made, "part missing raw")).toMatchObject({ verdict: "harmless" });
  });

  it("a part that slips is told by the sensor between the jaws", () => {
    const made = small([...PICK, wait("part-there", { ...stop, limit: 0.1 })]);
    expect(under(made, "part slipped grip")).toMatchObject({ verdict: "detected", detectedAt: ["main[3]"] });
  });

  it("air lost stops what is awaited, and lets the arm off before a clamp that is not", () => {
    expect(under(small(OPEN), "air lost")).toMatchObject({ verdict: "detected", detectedAt: ["main[1]"] });
    const dwells = small([go("mill.chuck"), hold("grip", "mill.chuck"), pulse("toggle", 0.2), dwell(0.5), go("home")]);
    // The door is closed but stands still, so that the arm may be in the bay.
    expect(under(dwells, "air lost").kinds).toContain("moved-while-both-hold");
  });

  it("a stop during a toggling pulse, repeated at the step, opens and closes again", () => {
    const made = small([go("mill.chuck"), hold("grip", "mill.chuck"), pulse("toggle", 0.2), dwell(0.5), go("home")]);
    expect(under(made, "stopped category 1, restart at the step").kinds).toContain("moved-while-both-hold");
  });

  it("a stop on the way goes on along it; after category 0 the arm stands beside its path", () => {
    const made = small([...OPEN, go("mill.vise"), go("home")]);
    expect(under(made, "stopped category 1, restart at the step")).toMatchObject({ verdict: "harmless" });
    expect(under(made, "stopped category 2, restart at the step")).toMatchObject({ verdict: "harmless" });
    expect(under(made, "stopped category 0, restart at the step")).toMatchObject({
      verdict: "dangerous",
      kinds: ["moved-from-inside", "moved-from-inside"],
    });
  });

  it("from the top, the arm moves off from inside", () => {
    const made = small([go("raw"), ...OPEN, go("mill.vise"), dwell(1), go("home")]);
    expect(under(made, "stopped category 2, restart at the top").kinds).toContain("moved-from-inside");
  });

  it("a routine that may be run again from its top at any moment takes a stop without harm", () => {
    const made = small([go("home"), drive("lamp", true), go("raw")]);
    for (const fault of faultNames(made, "part").filter((name) => name.startsWith("stopped")))
      expect(under(made, fault), fault).toMatchObject({ verdict: "harmless" });
  });

  it("power lost opens a spring-open gripper over nothing", () => {
    expect(under(small(PICK), "power lost").kinds).toContain("part-dropped");
    expect(under(small([go("raw"), go("home")]), "power lost")).toMatchObject({ verdict: "harmless" });
  });
});

it("faults that cannot concern the cell are not supposed", () => {
  const names = faultNames(small([go("home")]), "part");
  // Nothing is picked, nobody listens to the lamp.
  expect(names.filter((name) => /^part |wire lamp/.test(name))).toEqual([]);
  expect(names).toContain("slow device mill.vise closed");
  expect(new Set(names).size).toBe(names.length);
});
