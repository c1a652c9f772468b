/** What the cell does not state about its wiring, and what that makes unknowable. */
import type { Cell, PointRatings } from "../cell/model.ts";
import { some } from "./figures.ts";
import type { WiringProblem } from "./problem.ts";
import type { PulseCheck } from "./pulses.ts";
import type { Wire } from "./wire.ts";

/** Facts of a port's inputs and of its outputs. */
const INPUT_FACTS: readonly (readonly [key: keyof PointRatings, words: string])[] = [
  ["inputType", "input type"],
  ["inputs", "inputs (sinking or sourcing)"],
  ["supply", "supply"],
];
const OUTPUT_FACTS: readonly (readonly [key: keyof PointRatings, words: string])[] = [
  ["outputs", "outputs (sourcing, sinking or relay)"],
  ["outputCurrent", "output current"],
  ["groupCurrent", "group current"],
  ["supply", "supply"],
];

export function unstatedProblems(cell: Cell, wires: readonly Wire[], pulses: readonly PulseCheck[]): WiringProblem[] {
  const problems: WiringProblem[] = [];
  const ports: string[] = [];
  for (const port of cell.controller.ports.values()) {
    const here = wires.filter(({ place }) => place?.port === port.name);
    const outputs = here.some(({ kind }) => kind === "digital outputs");
    const facts = [
      ...(here.some(({ kind }) => kind === "digital inputs") ? INPUT_FACTS : []),
      ...(outputs ? OUTPUT_FACTS : []),
      // A group's current says nothing until it is known which outputs are a group.
      ...(outputs && port.ratings?.groupCurrent !== undefined ? ([["groupSize", "group size"]] as const) : []),
    ].filter(([key]) => port.ratings?.[key] === undefined);
    const words = [...new Set(facts.map(([, word]) => word))];
    if (words.length > 0) ports.push(`${port.name}: ${words.join(", ")}`);
  }
  for (const { name, voltage, current } of cell.controller.supplies?.values() ?? []) {
    const missing = [voltage === undefined && "voltage", current === undefined && "current"].filter((w) => w !== false);
    if (missing.length > 0) ports.push(`supply ${name}: ${missing.join(", ")}`);
  }
  if (ports.length > 0)
    problems.push({
      code: "point-facts-not-stated",
      severity: "caution",
      path: ["controller"],
      subject: "",
      message: `not stated of ${ports.join("; ")}: so far it cannot be told whether levels and PNP or NPN suit, and whether outputs, groups and supplies are overloaded`,
      mend: "State them from the controller's data sheet.",
    });
  const digital = wires.filter(({ kind, place }) => kind.startsWith("digital") && place !== undefined);
  const outputs = digital.filter(({ signal }) => signal.direction === "output");
  const inputs = digital.filter(({ signal }) => signal.direction === "input");
  const named = (list: readonly Wire[]) => some(list.map(({ signal }) => signal.name));
  const facts: string[] = [];
  const lacking = (list: readonly Wire[], words: string, unknowable: string) => {
    if (list.length > 0) facts.push(`${words} of ${named(list)} (${unknowable})`);
  };
  lacking(
    outputs.filter(({ signal }) => signal.current === undefined),
    "current",
    "sums of currents are too low by it",
  );
  lacking(
    outputs.filter(({ signal }) => signal.load === undefined),
    "load",
    "whether a coil needs suppression",
  );
  lacking(
    outputs.filter(
      ({ signal }) => (signal.load === "relay" || signal.load === "valve") && signal.suppression === undefined,
    ),
    "suppression",
    "whether the coil's energy is taken up",
  );
  lacking(
    inputs.filter(({ signal, end }) => signal.sensor === undefined && end.owner !== "unused"),
    "sensor",
    "what its input must suit",
  );
  lacking(
    inputs.filter(
      ({ signal }) =>
        signal.sensor === "two-wire switch" && (signal.leakage === undefined || signal.holdingCurrent === undefined),
    ),
    "leakage and holding current",
    "whether the input is sure to see it off and to keep it on",
  );
  lacking(
    digital.filter(
      ({ signal }) =>
        signal.polarity === undefined &&
        signal.coupling !== "relay" &&
        signal.coupling !== "optocoupler" &&
        (signal.sensor === "proximity switch" || signal.sensor === "output" || signal.load === "input"),
    ),
    "polarity",
    "whether PNP and NPN fit",
  );
  lacking(
    digital.filter(
      ({ signal, end }) =>
        end.owner === "machine" &&
        (signal.load === "input" || signal.sensor === "output") &&
        signal.coupling === undefined,
    ),
    "coupling",
    "whether two controls' supplies are tied together",
  );
  const unsure = pulses.filter(({ verdict }) => verdict === "unknown");
  if (unsure.length > 0)
    facts.push(
      `${[...new Set(unsure.flatMap(({ missing }) => missing))].join(" and ").replaceAll("its receiver scan", "receiver scan")} for the pulses of ${some(unsure.map(({ signal }) => signal))} (whether they are sure to be seen)`,
    );
  if (facts.length > 0)
    problems.push({
      code: "signal-facts-not-stated",
      severity: "caution",
      path: ["signals"],
      subject: "",
      message: `not stated, with what is therefore not known: ${facts.join("; ")}`,
      mend: "State them from the data sheets of sensors, valves and the machine's interface.",
    });
  return problems;
}
