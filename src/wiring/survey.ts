/** The wiring of a cell in one: points, schedule, maps of remote stations, currents, pulses, and what is wrong with it. */
import type { Cell, IoPort } from "../cell/model.ts";
import { type Assignment, type AssignOptions, assignPoints, PROPOSED_POINTS } from "./assign.ts";
import { budgetProblems, type GroupBudget, groupBudgets, type SupplyBudget, supplyBudgets } from "./budget.ts";
import { type CableLoss, cableLosses, compatibilityProblems } from "./compatibility.ts";
import { countPoints, type PortUse } from "./count.ts";
import { some, volts } from "./figures.ts";
import { SUPPLY_VOLTS } from "./input-types.ts";
import { pointKindOf } from "./points.ts";
import type { WiringProblem } from "./problem.ts";
import { checkPulses, type PulseCheck, pulseProblems } from "./pulses.ts";
import { blockOf, type StationMap, stationMap } from "./remote-map.ts";
import { type ScheduleRow, scheduleRows } from "./schedule.ts";
import { unstatedProblems } from "./unstated.ts";
import { type Wire, wiresOf } from "./wire.ts";

export interface WiringSurvey {
  readonly assignment: Assignment;
  readonly wires: readonly Wire[];
  readonly ports: readonly PortUse[];
  /** One row for every signal: by port, kind and point, then those without a point. */
  readonly schedule: readonly ScheduleRow[];
  /** Remote stations with signals, then the proposed ones. */
  readonly stations: readonly StationMap[];
  readonly groups: readonly GroupBudget[];
  readonly supplies: readonly SupplyBudget[];
  readonly cables: readonly CableLoss[];
  readonly pulses: readonly PulseCheck[];
  readonly problems: readonly WiringProblem[];
}

/** Surveys the wiring. Pure; the same for the same cell. */
export function surveyWiring(cell: Cell, options: AssignOptions = {}): WiringSurvey {
  const assignment = assignPoints(cell, options);
  const wires = wiresOf(cell, assignment);
  const ports = countPoints(cell, assignment);
  const stations = stationMaps(cell, assignment);
  const groups = groupBudgets(cell, wires);
  const supplies = supplyBudgets(cell, wires);
  const pulses = checkPulses(cell, wires);
  return {
    assignment,
    wires,
    ports,
    schedule: scheduleRows(cell, assignment, wires, stations),
    stations,
    groups,
    supplies,
    cables: cableLosses(wires),
    pulses,
    problems: [
      ...placeProblems(cell, assignment, ports),
      ...stationProblems(cell, stations),
      ...supplyProblems(cell),
      ...budgetProblems(wires, groups, supplies),
      ...compatibilityProblems(wires),
      ...pulseProblems(pulses),
      ...unstatedProblems(cell, wires, pulses),
    ],
  };
}

function stationMaps(cell: Cell, { points, proposed }: Assignment): StationMap[] {
  const on = (port: IoPort, places: ReadonlyMap<string, { readonly port: string; readonly point: number }>) =>
    [...places].flatMap(([signal, place]) =>
      place.port === port.name ? [{ signal, kind: pointKindOf(cell.signals.get(signal)!), point: place.point }] : [],
    );
  const own = [...cell.controller.ports.values()]
    .filter((port) => port.remote !== undefined)
    .map((port) => stationMap(port, on(port, points), false));
  return [
    ...own.filter(({ entries }) => entries.length > 0),
    ...proposed.stations.map((port) => stationMap(port, on(port, proposed.points), true)),
  ];
}

const KINDS = {
  "digital inputs": "digitalInputs",
  "digital outputs": "digitalOutputs",
  "analogue inputs": "analogueInputs",
  "analogue outputs": "analogueOutputs",
} as const;

/** Points that are missing, with the stations that would have them. */
function placeProblems(cell: Cell, { unplaced, proposed }: Assignment, ports: readonly PortUse[]): WiringProblem[] {
  const problems: WiringProblem[] = [];
  const count = proposed.stations.length;
  const { digitalInputs: di, digitalOutputs: dout, analogueInputs: ai, analogueOutputs: ao } = PROPOSED_POINTS;
  for (const port of ports)
    for (const [words, key] of Object.entries(KINDS)) {
      const [used, available] = port[key];
      if (used <= available) continue;
      const remote = `add remote points: ${count} station${count === 1 ? "" : "s"} of ${di} DI, ${dout} DO, ${ai} AI, ${ao} AO under controller.remote would take all that is left over`;
      problems.push({
        code: "too-few-points",
        severity: "error",
        path: ["controller"],
        subject: `${port.name}|${words}`,
        message: `${port.name} has ${available} ${words}, the signals need ${used}`,
        mend: `Move ${used - available} of them to another port, or ${count === 0 ? "add remote points" : remote}.`,
      });
    }
  const registers = unplaced.filter((name) => cell.signals.get(name)!.kind === "register");
  if (registers.length > 0)
    problems.push({
      code: "register-without-station",
      severity: "caution",
      path: ["signals", registers[0]!],
      subject: "",
      message: `no remote station has a register left for ${some(registers)}: their addresses are not known`,
      mend: "State input registers and holding registers of a station under controller.remote.",
    });
  return problems;
}

function stationProblems(cell: Cell, stations: readonly StationMap[]): WiringProblem[] {
  const problems: WiringProblem[] = [];
  for (const { station, unknown, beyond, proposed } of stations) {
    if (proposed) continue;
    const path = ["controller", "remote", station];
    if (unknown.length > 0)
      problems.push({
        code: "address-not-stated",
        severity: "caution",
        path,
        subject: "",
        message: `${station} does not state from which address its ${unknown.join(", ")} count: the addresses of the signals on them are not known`,
        mend: "State coils from, discrete inputs from, input registers from and holding registers from, out of the station's manual, counted from 0.",
      });
    if (beyond.length > 0)
      problems.push({
        code: "address-beyond-range",
        severity: "error",
        path,
        subject: "",
        message: `the ${beyond.join(" and ")} addresses of ${station} go beyond 65535, the last that there is`,
        mend: "Correct the first address or the number of points.",
      });
  }
  const remote = [...cell.controller.ports.values()].filter((port) => port.remote !== undefined);
  remote.forEach((a, i) => {
    for (const b of remote.slice(i + 1)) {
      if (a.remote!.unit !== b.remote!.unit || a.remote!.host !== b.remote!.host) continue;
      const shared = (["coil", "discrete input", "input register", "holding register"] as const).filter((table) => {
        const one = blockOf(a, table);
        const two = blockOf(b, table);
        if (one.first === undefined || two.first === undefined) return false;
        return Math.max(one.first, two.first) < Math.min(one.first + one.count, two.first + two.count);
      });
      if (shared.length > 0)
        problems.push({
          code: "addresses-overlap",
          severity: "error",
          path: ["controller", "remote", b.name],
          subject: a.name,
          message: `${a.name} and ${b.name} share unit ${a.remote!.unit}${a.remote!.host === undefined ? ", with no host stated," : ` at ${a.remote!.host}`} and ${shared.join(" and ")} addresses: one would read and write the other's points`,
          mend: "Give each station its own unit or host, or addresses that do not overlap.",
        });
    }
  });
  return problems;
}

/** A supply of digital points away from 24 V -15 %, +20 %. */
function supplyProblems(cell: Cell): WiringProblem[] {
  const [min, max] = SUPPLY_VOLTS;
  return [...(cell.controller.supplies?.values() ?? [])].flatMap(({ name, voltage }): WiringProblem[] => {
    const typed = [...cell.controller.ports.values()].filter(
      ({ ratings }) => ratings?.supply === name && ratings.inputType !== undefined,
    );
    if (voltage === undefined || typed.length === 0 || (voltage >= min && voltage <= max)) return [];
    return [
      {
        code: "supply-voltage",
        severity: "error",
        path: ["controller", "supplies", name],
        subject: "",
        message: `the supply ${name} gives ${volts(voltage)}; the inputs of ${typed.map((p) => p.name).join(", ")} are made for 24 V d.c. after IEC 61131-2, ${volts(min)} to ${volts(max)}`,
        mend: "Take a supply of 24 V d.c., or correct the voltage or the input type.",
      },
    ];
  });
}
