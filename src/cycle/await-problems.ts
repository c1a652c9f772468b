/** What can be wrong with a wait: it never ends, ends too late, or passes on what is no longer so. */
import type { AwaitStep, SignalCondition } from "../cell/steps.ts";
import { signalsIn } from "./board.ts";
import { whyNever } from "./deadlock.ts";
import type { DeviceRun } from "./devices.ts";
import { inSeconds } from "./problems.ts";
import type { ProcessRun } from "./processes.ts";
import { report, type World } from "./world.ts";

type Devices = ReadonlyMap<string, DeviceRun>;

/** The wait, an `await` or a gripper's feedback, is open and nothing more will happen. */
export function reportNever(
  world: World,
  devices: Devices,
  processes: readonly ProcessRun[],
  stepId: string,
  condition: SignalCondition,
  activity: number,
): void {
  report(world, {
    code: "await-never",
    severity: "error",
    stepId,
    message: `The arm waits from ${inSeconds(world.log.drafts[activity]!.start)} on for ever: ${whyNever(world, condition, devices, processes)}.`,
    mend: "Give the command that leads to the awaited signal before the wait, or await it where it can still come.",
  });
}

/** The limit has passed. */
export function reportLimit(world: World, devices: Devices, processes: readonly ProcessRun[], step: AwaitStep): void {
  const { otherwise } = step;
  const then =
    otherwise.kind === "stop"
      ? `the routine stops${otherwise.message === undefined ? "" : ` ("${otherwise.message}")`}`
      : `${otherwise.routine} runs in place of the rest of the routine`;
  report(world, {
    code: "await-limit-passed",
    severity: "error",
    stepId: step.id,
    message: `The limit of ${inSeconds(step.limit!)} passes: ${whyNever(world, step.condition, devices, processes)}; ${then}.`,
    mend: "Give the command that leads to it before the wait; where it is on its way already, raise the limit above its slowest time.",
  });
}

/** The wait passes although its condition, as things are, no longer holds. */
export function reportStale(world: World, { id, condition }: AwaitStep): void {
  report(world, {
    code: "stale-input",
    severity: "error",
    stepId: id,
    message: `The wait passes at once on an input that has already changed but is still seen as before (scan time ${inSeconds(world.scan)}): ${staleSignals(world, condition)}.`,
    mend: "Await the change first (for instance the signal off), or dwell longer than the scan time before this step.",
  });
}

function staleSignals(world: World, condition: SignalCondition): string {
  return signalsIn(condition)
    .filter(({ signal }) => world.board.seen(signal) !== world.board.level(signal))
    .map(({ signal }) => {
      const level = world.board.level(signal);
      const at = world.board.lastEdge(signal, level) ?? 0;
      return `${signal} went ${level ? "on" : "off"} ${inSeconds(world.queue.now - at)} before`;
    })
    .join(", ");
}
