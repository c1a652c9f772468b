/** Mends of troubles: what might help is tried on the routine and proved again before it is proposed. */
import { devicesOf, machineDevices, processesOf } from "../../cell/equipment.ts";
import type { Cell, Device, Process } from "../../cell/model.ts";
import { stepOf } from "../../cell/step-walk.ts";
import type { AwaitStep, DwellStep, SignalCondition, Step } from "../../cell/steps.ts";
import { insertedBefore, replaced, stepBefore } from "./edit.ts";
import type { Violation } from "./prove.ts";
import { lastStep } from "./run.ts";

/** A change of one step, and how to say it. */
export interface Mend {
  readonly cell: Cell;
  /** "Add `await: { signal: door-is-open, limit: 6 s }` before load[2]". */
  readonly words: string;
}

/** What might mend a violation, the best first; nothing has been tried yet. */
export function possibleMends(cell: Cell, { trouble, run }: Violation): Mend[] {
  const at = trouble.stepId ?? lastStep(run);
  if (at === undefined) return [];
  const before = (device: string | undefined, position: string): Mend[] =>
    device === undefined ? [] : waitsFor(cell, at, device, position);
  const gripperDevice = (name: string) => cell.tool.grippers.get(name)?.device.name;
  const clampOf = (holder: string | undefined) => {
    const name = cell.holders.get(holder ?? "")?.device;
    return name === undefined ? undefined : deviceOf(cell, name);
  };
  switch (trouble.kind) {
    case "freed-before-clamped":
    case "freed-unclamped":
    case "moved-while-both-hold": {
      // The clamp is on its way: to its clamping position before the jaws open, away from it before the arm moves.
      const clamp = clampOf(trouble.other) ?? movingClamp(cell, run);
      if (clamp === undefined) return [];
      const clamping = (position: string) => (position === clamp.clamps) === trouble.kind.startsWith("freed");
      const wanted = [...clamp.positions].sort((a, b) => Number(clamping(b)) - Number(clamping(a)));
      return wanted.flatMap((position) => before(clamp.name, position));
    }
    case "unclamped-before-held":
      return before(gripperDevice(trouble.other ?? ""), "closed");
    case "moved-before-jaws":
      return ["open", "closed"].flatMap((position) => before(gripperDevice(trouble.subject), position));
    case "moved-before-clamp":
      return deviceOf(cell, trouble.subject)?.positions.flatMap((position) => before(trouble.subject, position)) ?? [];
    case "zone-shared":
      return deviceOf(cell, trouble.other ?? "")?.positions.flatMap((p) => before(trouble.other, p)) ?? [];
    case "need-lost": {
      const done = processOf(cell, trouble.subject)?.done?.signal;
      return done === undefined
        ? []
        : [awaits(cell, at, { kind: "signal", signal: done, is: true }, timeOf(cell, trouble.subject))];
    }
    case "start-refused":
    case "process-unclamped":
      return processOf(cell, trouble.subject)?.needs.flatMap(({ device, position }) => before(device, position)) ?? [];
    case "start-while-running": {
      const done = processOf(cell, trouble.subject)?.done?.signal;
      return done === undefined
        ? []
        : [awaits(cell, at, { kind: "signal", signal: done, is: true }, timeOf(cell, trouble.subject))];
    }
    case "stale-input": {
      const step = stepOf(cell, at);
      if (step?.kind !== "await") return [];
      const dwell = dwells(cell, at, cell.controller.scan);
      const { condition } = step;
      if (condition.kind !== "signal") return [dwell];
      return [awaits(cell, at, { ...condition, is: !condition.is }, 1), dwell];
    }
    case "pulse-too-short": {
      const step = stepOf(cell, at);
      if (step?.kind !== "pulse") return [];
      const width = widthNeeded(cell, step.signal);
      return width === undefined
        ? []
        : [{ cell: replaced(cell, at, { ...step, width }), words: `Make the pulse of ${at} ${seconds(width)} wide` }];
    }
    case "pulses-too-close":
      return [dwells(cell, at, cell.controller.scan)];
    case "limit-passed": {
      const step = stepOf(cell, at);
      if (step?.kind !== "await" || step.limit === undefined) return [];
      return [2, 5, 20].map((times) => {
        const limit = Math.ceil(step.limit! * times);
        return { cell: replaced(cell, at, { ...step, limit }), words: `Raise the limit of ${at} to ${seconds(limit)}` };
      });
    }
    default:
      return [];
  }
}

/** Waiting for a device before a step: its feedback where there is one, else a dwell as long as it can take. */
function waitsFor(cell: Cell, at: string, name: string, position: string): Mend[] {
  const device = deviceOf(cell, name);
  if (device === undefined) return [];
  const longest = device.time.get(position)?.max ?? 0;
  const feedback = device.feedback.get(position);
  if (feedback !== undefined)
    return [awaits(cell, at, { kind: "signal", signal: feedback, is: true }, Math.max(1, Math.ceil(2 * longest)))];
  if (longest === 0) return [];
  const dwell = stepBefore(cell, at);
  const lengthened: Mend[] =
    dwell?.kind === "dwell" && dwell.time < longest
      ? [
          {
            cell: replaced(cell, dwell.id, { ...dwell, time: longest }),
            words: `Lengthen the dwell ${dwell.id} from ${seconds(dwell.time)} to ${seconds(longest)}, the slowest time of ${name} to ${position}`,
          },
        ]
      : [];
  return [...lengthened, dwells(cell, at, longest)];
}

const addedId = (at: string) => `${at} (added before)`;

function dwells(cell: Cell, at: string, time: number): Mend {
  const step: DwellStep = { kind: "dwell", time, path: pathOf(cell, at), id: addedId(at) };
  return { cell: insertedBefore(cell, at, step), words: `Add \`dwell: ${seconds(time)}\` before ${at}` };
}

function awaits(cell: Cell, at: string, condition: Extract<SignalCondition, { kind: "signal" }>, limit: number): Mend {
  const step: AwaitStep = {
    kind: "await",
    condition,
    limit,
    otherwise: { kind: "stop", message: `${condition.signal} did not go ${condition.is ? "on" : "off"}` },
    path: pathOf(cell, at),
    id: addedId(at),
  };
  const is = condition.is ? "" : ", is: off";
  return {
    cell: insertedBefore(cell, at, step),
    words: `Add \`await: { signal: ${condition.signal}${is}, limit: ${seconds(limit)}, … }\` before ${at}`,
  };
}

const pathOf = (cell: Cell, at: string): Step["path"] => stepOf(cell, at)?.path ?? ["routines", cell.entry];
const seconds = (value: number): string => `${Number(value.toFixed(3))} s`;

const deviceOf = (cell: Cell, name: string): Device | undefined =>
  devicesOf(cell).find((device) => device.name === name);

const processOf = (cell: Cell, name: string): Process | undefined =>
  processesOf(cell).find((process) => process.name === name);

/** Longest time of a process over the parts, s, with a tenth to spare. */
function timeOf(cell: Cell, name: string): number {
  const stated = [...cell.parts.values()].flatMap((part) => part.processTimes.get(name)?.max ?? []);
  return Math.ceil(1.1 * Math.max(1, processOf(cell, name)?.time?.max ?? 0, ...stated));
}

/** The clamp that is on its way at the end of a run. */
function movingClamp(cell: Cell, run: Violation["run"]): Device | undefined {
  for (const lane of run.lanes)
    if (lane.kind === "device" && lane.spans.at(-1)?.text === "moving") {
      const device = deviceOf(cell, lane.name);
      if (device?.clamps !== undefined) return device;
    }
  return machineDevices(cell).find((device) => device.clamps !== undefined);
}

/** Least width that everything listening to an output as a pulse sees. */
function widthNeeded(cell: Cell, signal: string): number | undefined {
  const widths: number[] = [];
  for (const machine of cell.machines.values()) {
    for (const { command } of machine.devices) {
      if (command.style === "toggling pulse" && command.signal === signal) widths.push(command.width);
      if (command.style === "pulse" && [...command.signals.values()].includes(signal)) widths.push(command.width);
    }
    for (const { start } of machine.processes)
      if (start.style === "pulse" && start.signal === signal) widths.push(start.width);
  }
  return widths.length === 0 ? undefined : Math.max(...widths);
}
