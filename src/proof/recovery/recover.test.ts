/** Procedures of small cells argued by hand, and wrong ones that the proof refutes. */
import { describe, expect, it } from "vitest";
import { drive, dwell, free, go, hold, off, pulse, wait } from "../../../test/cycle/builders.ts";
import { type Steps, shop } from "../../../test/cycle/shop.ts";
import { lying, motionsOf, sweeping } from "../../../test/proof/small.ts";
import type { Cell } from "../../cell/model.ts";
import { stopNetwork } from "./network.ts";
import { proveLines, recoverySteps, stepNames } from "./recover.ts";
import type { RecoveryLine, RecoveryProcedure, StepRetreats, StopCause } from "./types.ts";

/** One motion home from every step, out of every zone. */
function retreatsOf(cell: Cell): Map<string, StepRetreats> {
  const zones = [...cell.scene.zones.keys()];
  const clearance = { least: 0.05, required: 0.01, pair: undefined };
  const home: StepRetreats = {
    retreats: [{ from: undefined, moves: [{ way: "back", to: "home", longest: 3, zones, endZones: [], clearance }] }],
  };
  return new Map(stepNames(cell, "part").map((id) => [id, home]));
}

function procedureOf(cell: Cell, stepId: string, cause: StopCause = "stopped"): RecoveryProcedure {
  const outcome = recoverySteps(cell, {
    variant: "part",
    motions: motionsOf(cell),
    retreats: retreatsOf(cell),
    steps: [stepId],
    causes: [cause],
  });
  if (!outcome.ok) throw new Error(outcome.reason);
  expect(outcome.steps).toHaveLength(1);
  return outcome.steps[0]!.procedures[0]!;
}

/** What the proof says of other lines for a step. */
function reasonsFor(cell: Cell, stepId: string, lines: readonly RecoveryLine[], cause: StopCause = "stopped") {
  const made = stopNetwork(cell, "part", motionsOf(cell), cause, [stepId], () => lines);
  if (!made.ok) throw new Error(made.reason);
  return proveLines(made.made, [stepId]).of(stepId).reasons;
}

const kinds = ({ lines }: RecoveryProcedure): string[] => lines.map(({ kind }) => kind);
const without = (lines: readonly RecoveryLine[], drop: (line: RecoveryLine) => boolean): RecoveryLine[] =>
  lines.filter((line) => !drop(line));
const always = ({ only: _, ...line }: RecoveryLine): RecoveryLine => line as RecoveryLine;

const limit = { limit: 2 };
const PICK: Steps = [go("raw"), hold("grip", "raw"), dwell(0.4)];
const CARRY = shop([...PICK, go("finished"), free("grip", "finished"), dwell(0.4), go("home")]);

describe("holding a part above a tray", () => {
  const procedure = procedureOf(CARRY, "main[3]");

  it("takes the arm home with the jaws closed, then a person takes the part", () => {
    expect(procedure.verdict).toBe("proved");
    expect(procedure.trained).toBe(false);
    // It is certain that the gripper holds: nothing is asked.
    expect(kinds(procedure)).toEqual([
      "wait",
      "keep",
      "move",
      "take out",
      "bring",
      "set",
      "wait",
      "refill",
      "refill",
      "restart",
    ]);
    expect(procedure.lines[1]).toEqual({ kind: "keep", signals: ["grip"] });
    expect(procedure.possible).toContainEqual({ what: "in grip", values: ["a raw part"], usual: "nothing" });
  });

  it("is refuted where the jaws open and nobody has the part", () => {
    const reasons = reasonsFor(
      CARRY,
      "main[3]",
      without(procedure.lines, ({ kind }) => kind === "take out"),
    );
    expect(reasons.join()).toContain("the part falls");
  });

  it("is refuted where the routine runs again and the tray was not filled", () => {
    const stands = { kind: "set", signal: "grip", to: true } as const;
    const lines = procedure.lines.map((line) => (line.kind === "set" ? stands : line));
    expect(reasonsFor(CARRY, "main[3]", lines).join()).toContain("when the routine is started again");
  });

  it("asks whether there is a part when the jaws were just closing or not yet told to", () => {
    const closing = procedureOf(CARRY, "main[1]");
    expect(closing.verdict).toBe("proved");
    const asked = closing.lines.find(({ kind }) => kind === "ask");
    expect(asked).toMatchObject({ question: { kind: "gripper", gripper: "grip" } });
    // The question left out: the part is taken from jaws that have none.
    const lines = without(closing.lines, ({ kind }) => kind === "ask").map(always);
    expect(reasonsFor(CARRY, "main[1]", lines).join()).toContain("there is none");
  });
});

const TAKE = lying(
  shop([go("mill.chuck"), hold("grip", "mill.chuck"), dwell(0.4), pulse("toggle", 0.2), dwell(0.5), go("home")]),
  ["mill.chuck"],
);

describe("gripper and chuck hold the same part", () => {
  const procedure = procedureOf(TAKE, "main[2]");

  it("opens the gripper, leaves the part clamped, then goes", () => {
    expect(procedure.verdict).toBe("proved");
    const free = procedure.lines.findIndex((line) => line.kind === "bring" && line.into === "mill.chuck");
    const move = procedure.lines.findIndex(({ kind }) => kind === "move");
    expect(free).toBeGreaterThan(0);
    expect(free).toBeLessThan(move);
  });

  it("is refuted where the arm moves before", () => {
    const move = procedure.lines.find(({ kind }) => kind === "move")!;
    const rest = without(procedure.lines.slice(1), (line) => line === move);
    const reasons = reasonsFor(TAKE, "main[2]", [procedure.lines[0]!, move, ...rest]);
    expect(reasons.join()).toContain("still hold the same part");
  });

  it("asks whether the toggling chuck is open when it was stopped in its pulse", () => {
    const pulsing = procedureOf(TAKE, "main[3]");
    expect(pulsing.verdict).toBe("proved");
    const question = pulsing.lines.find(({ kind }) => kind === "ask");
    expect(question).toMatchObject({ question: { kind: "device", device: "mill.chuck" } });
    // Freed whatever the answer: where the chuck is open already, the part falls.
    const lines = pulsing.lines.map((line) =>
      line.only?.some(({ question: q }) => q === 1) === true ? always(line) : line,
    );
    expect(reasonsFor(TAKE, "main[3]", lines).join()).toContain("the part falls");
  });
});

const vise = (main: Steps) => sweeping(shop(main), "mill.door", "bay");
const OPEN: Steps = [drive("door-close", false), drive("door-open", true), wait("door-is-open", limit)];
const CLOSE: Steps = [drive("door-open", false), drive("door-close", true), wait("door-is-closed", limit)];
const LOAD: Steps = [
  ...PICK,
  ...OPEN,
  go("mill.vise"),
  drive("clamp", true),
  wait("vise-closed", limit),
  free("grip", "mill.vise"),
  dwell(0.4),
  go("home"),
  ...CLOSE,
];
const START: Steps = [pulse("start", 0.2), wait(off("done"), { limit: 1 }), wait("done", { limit: 10 })];

describe("in the open doorway", () => {
  const cell = vise(LOAD);
  const procedure = procedureOf(cell, "main[6]");

  it("leaves the door open until the arm is home", () => {
    expect(procedure.verdict).toBe("proved");
    expect(procedure.lines.find(({ kind }) => kind === "keep")).toMatchObject({
      signals: expect.arrayContaining(["door-open", "grip"]),
    });
    const move = procedure.lines.findIndex(({ kind }) => kind === "move");
    const door = procedure.lines.findIndex((line) => line.kind === "bring" && line.device === "mill.door");
    expect(door).toBeGreaterThan(move);
  });

  it("is refuted where the door is closed first", () => {
    const closing: RecoveryLine[] = [
      { kind: "set", signal: "door-open", to: false },
      { kind: "set", signal: "door-close", to: true },
    ];
    const reasons = reasonsFor(cell, "main[6]", [procedure.lines[0]!, ...closing, ...procedure.lines.slice(1)]);
    expect(reasons.join()).toContain("mill.door moves through bay");
  });
});

describe("power lost while the machine works", () => {
  it("a part that lies in the open vise is taken out by hand", () => {
    const procedure = procedureOf(vise([...LOAD, ...START]), "main[17]", "power lost");
    expect(procedure.reasons).toEqual([]);
    expect(procedure.verdict).toBe("proved");
    expect(procedure.lines.some((line) => line.kind === "await" && line.signal === "done")).toBe(true);
    expect(procedure.lines.some((line) => line.kind === "take out" && line.holder === "mill.vise")).toBe(true);
  });

  it("a part that may have fallen out of the vise is a matter for trained people", () => {
    const cell = lying(vise([...LOAD, ...START]), ["mill.vise"]);
    const procedure = procedureOf(cell, "main[17]", "power lost");
    expect(procedure.trained).toBe(true);
    const why = procedure.lines.flatMap((line) => (line.kind === "trained" ? [line.why] : []));
    expect(why).toEqual(["a part may be loose in mill.vise"]);
  });

  it("waits for the machine when only the controller was stopped", () => {
    const procedure = procedureOf(vise([...LOAD, ...START]), "main[17]");
    expect(procedure.verdict).toBe("proved");
    const lines = without(procedure.lines, ({ kind }) => kind === "await" || kind === "wait");
    expect(reasonsFor(vise([...LOAD, ...START]), "main[17]", lines)).not.toEqual([]);
  });
});

it("a step without a way home ends with trained people", () => {
  const outcome = recoverySteps(CARRY, {
    variant: "part",
    motions: motionsOf(CARRY),
    retreats: new Map(),
    steps: ["main[3]"],
    causes: ["stopped"],
  });
  if (!outcome.ok) throw new Error(outcome.reason);
  expect(outcome.steps[0]!.procedures[0]!.trained).toBe(true);
  expect(outcome.steps[0]!.procedures[0]!.lines.at(-1)!.kind).toBe("trained");
});

it("a retreat whose clearance is not certified is not proved", () => {
  const clearance = { least: 0.004, required: 0.01, pair: ["jaw", "post"] as const };
  const home: StepRetreats = {
    retreats: [{ from: undefined, moves: [{ way: "on", to: "home", longest: 3, zones: [], endZones: [], clearance }] }],
  };
  const outcome = recoverySteps(CARRY, {
    variant: "part",
    motions: motionsOf(CARRY),
    retreats: new Map([["main[3]", home]]),
    steps: ["main[3]"],
    causes: ["stopped"],
  });
  if (!outcome.ok) throw new Error(outcome.reason);
  const [procedure] = outcome.steps[0]!.procedures;
  expect(procedure!.verdict).toBe("not proved");
  expect(procedure!.reasons).toEqual([
    "The motion to home is certified for 4.0 mm of clearance where 10.0 mm are wanted.",
  ]);
});

it("a gripper that opens by itself when power fails leaves nothing to hold", () => {
  const procedure = procedureOf(CARRY, "main[3]", "power lost");
  expect(procedure.verdict).toBe("proved");
  expect(procedure.possible).toContainEqual({ what: "in grip", values: ["nothing"], usual: "nothing" });
});

it("every step of a routine has a procedure for every cause that can find it", () => {
  const cell = vise([...LOAD, ...START]);
  const outcome = recoverySteps(cell, { variant: "part", motions: motionsOf(cell), retreats: retreatsOf(cell) });
  if (!outcome.ok) throw new Error(outcome.reason);
  expect(outcome.steps.map(({ stepId }) => stepId)).toEqual(stepNames(cell, "part"));
  for (const { procedures } of outcome.steps) {
    expect(procedures.map(({ cause }) => cause)).toEqual(["stopped", "power lost"]);
    for (const { verdict, reasons } of procedures) expect([verdict, reasons]).toEqual(["proved", []]);
  }
});

it("a part that falls when power is lost is said to lie somewhere", () => {
  const outcome = recoverySteps(CARRY, {
    variant: "part",
    motions: motionsOf(CARRY),
    retreats: retreatsOf(CARRY),
    steps: ["main[3]"],
  });
  if (!outcome.ok) throw new Error(outcome.reason);
  const [stopped, lost] = outcome.steps[0]!.procedures;
  const fallen = { what: "fallen out of grip", values: ["perhaps a part"], usual: "nothing" };
  expect(lost!.possible).toContainEqual(fallen);
  expect(stopped!.possible).not.toContainEqual(fallen);
});

it("a door is opened before hands reach in, whichever steps are asked for", () => {
  const cell = vise([...LOAD, ...START]);
  const { lines, verdict } = procedureOf(cell, "main[17]");
  expect(verdict).toBe("proved");
  const opened = lines.findIndex((l) => l.kind === "bring" && l.device === "mill.door" && l.position === "open");
  const taken = lines.findIndex((l) => l.kind === "take out" && l.holder === "mill.vise");
  expect(opened).toBeGreaterThan(-1);
  expect(taken).toBeGreaterThan(opened);
});
