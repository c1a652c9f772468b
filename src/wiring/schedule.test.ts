/** Terminals: each point its own, told by the ports alone; rows in the order in which a panel is wired. */
import { describe, expect, it } from "vitest";
import { wiredCell, withSignals } from "../../test/wiring/cells.ts";
import type { IoPort, Signal } from "../cell/model.ts";
import { POINT_KINDS, pointsOf } from "./points.ts";
import { terminalOf } from "./schedule.ts";
import { surveyWiring } from "./survey.ts";

const ports: readonly IoPort[] = [
  { name: "a", digitalInputs: 3, digitalOutputs: 2, analogueInputs: 1, analogueOutputs: 2 },
  { name: "b", digitalInputs: 1, digitalOutputs: 0, analogueInputs: 4, analogueOutputs: 0 },
];

describe("terminals", () => {
  it("count digital inputs, digital outputs, analogue inputs and analogue outputs of each port from 1, without gaps", () => {
    const all = ports.map(({ name }, i) =>
      POINT_KINDS.flatMap((kind) =>
        Array.from({ length: pointsOf(ports[i]!, kind) }, (_, point) => terminalOf(ports, name, kind, point)),
      ),
    );
    expect(all).toEqual([
      ["X1:1", "X1:2", "X1:3", "X1:4", "X1:5", "X1:6", "X1:7", "X1:8"],
      ["X2:1", "X2:2", "X2:3", "X2:4", "X2:5"],
    ]);
    expect(terminalOf(ports, "a", "digital outputs", 1)).toBe("X1:5");
  });

  it("are none for registers", () => expect(terminalOf(ports, "a", "input registers", 0)).toBe(""));
});

it("rows go by port, kind and point, those without a point last", () => {
  const cell = wiredCell(
    "  ports: { controller: { digital inputs: 4, digital outputs: 4 }, flange: { digital inputs: 1, digital outputs: 1 } }\n  remote: { far: { unit: 1, digital outputs: 1 } }",
  );
  const extra = (name: string, more: Partial<Signal>): Signal => ({
    name,
    direction: "output",
    kind: "digital",
    initial: false,
    ...more,
  });
  const { schedule } = surveyWiring(
    withSignals(cell, [extra("word", { kind: "register" }), extra("far-1", { port: "far" }), ...cell.signals.values()]),
  );
  expect(schedule.map(({ signal, terminal }) => `${terminal} ${signal}`)).toEqual([
    "X1:1 start-button",
    "X1:2 door-is-open",
    "X1:3 door-is-closed",
    "X1:4 cycle-complete",
    "X1:5 door-open",
    "X1:6 chuck-toggle",
    "X1:7 cycle-start",
    "X1:8 arm-clear",
    "X2:2 grip",
    "X3:1 far-1",
    " word",
  ]);
});
