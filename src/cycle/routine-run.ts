/** Runs the routine and records what happens; figures are drawn from the record afterwards. */

import { devicesOf } from "../cell/equipment.ts";
import { feedsOf } from "../cell/feeds.ts";
import type { Cell } from "../cell/model.ts";
import { ContractError } from "../math/contract-error.ts";
import { ArmRun } from "./arm-run.ts";
import { SignalBoard } from "./board.ts";
import { conditionHolds } from "./conditions.ts";
import { connectDevice, DeviceRun } from "./devices.ts";
import { Handover } from "./handover.ts";
import { ActivityLog } from "./log.ts";
import { Operators } from "./operators.ts";
import { inSeconds, ProblemList } from "./problems.ts";
import { ProcessRun } from "./processes.ts";
import { EventQueue, RANK } from "./queue.ts";
import type { CycleOptions, Pass } from "./run.ts";
import { SettleWatch } from "./settle.ts";
import { Stock } from "./stock.ts";
import type { Mover } from "./types.ts";
import { RoutineWalk } from "./walk.ts";
import { report, reportUnresolved, type World } from "./world.ts";

const MOST_STEPS = 200_000;

/** Everything as it stands when the run is over. */
export interface RoutineRun<F> {
  readonly world: World;
  readonly arm: ArmRun<F>;
  readonly passes: readonly Pass[];
  readonly devices: ReadonlyMap<string, DeviceRun>;
  readonly processes: readonly ProcessRun[];
  readonly handover: Handover;
}

/** @throws ContractError as `simulate` */
export function runRoutine<F>(cell: Cell, mover: Mover<F>, options: CycleOptions): RoutineRun<F> {
  const { variant, pace } = options;
  if (!cell.parts.has(variant))
    throw new ContractError(
      `simulate: variant must be a part of the cell (${[...cell.parts.keys()].join(", ")}), got "${variant}"`,
    );
  const maxSteps = options.maxSteps ?? MOST_STEPS;
  const queue = new EventQueue();
  const log = new ActivityLog();
  const problems = new ProblemList();
  const scan = cell.controller.scan;
  const board = new SignalBoard(cell.signals, scan, queue);
  const passes: Pass[] = [];
  let passBegun: { index: number; stepId: string; start: number; of: number } | undefined;
  const world: World = {
    cell,
    variant,
    pace,
    scan,
    queue,
    log,
    board,
    problems,
    stock: new Stock(cell, feedsOf(cell, variant)),
    pass: () => walk.pass,
    step: () => arm.step?.id,
  };
  const walk = new RoutineWalk(cell, variant, maxSteps, {
    holds: (condition, pass, places) => conditionHolds(world, condition, pass, places),
    passStarts: (step, index, of) => {
      arm.paths.set(step.id, step.path);
      passBegun = { index, stepId: step.id, start: queue.now, of };
      options.onProgress?.(index, of);
    },
    passEnds: () => {
      if (passBegun === undefined) return;
      const { index, stepId, start } = passBegun;
      passes.push({ index, stepId, start, end: queue.now });
    },
    eachStarts: (step, holders, count) => {
      arm.paths.set(step.id, step.path);
      const longest = holders.reduce(
        (a, b) => (b.places > a.places ? b : a),
        holders[0] ?? { name: "", places: count },
      );
      if (longest.places > count)
        report(world, {
          code: "each-leaves-places",
          severity: "caution",
          stepId: step.id,
          message: `${longest.name} has ${longest.places} places, but only ${count} passes are made because ${holders.find((h) => h.places === count)?.name} has no more.`,
          mend: "Give the holders walked together the same number of places, or walk them in separate steps.",
        });
    },
    unresolved: (step) => {
      arm.paths.set(step.id, step.path);
      reportUnresolved(world, step.id);
    },
  });
  const devices = new Map(devicesOf(cell).map((device) => [device.name, new DeviceRun(world, device)]));
  const handover = new Handover(world, devices);
  const settle = new SettleWatch(world, () => {
    const holder = handover.armAt === undefined ? undefined : cell.holders.get(handover.armAt.holder);
    return holder?.device;
  });
  for (const run of devices.values()) run.onLeave.push((move) => settle.moved(move));
  const processes = [...cell.machines.values()].flatMap((m) =>
    m.processes.map((p) => new ProcessRun(world, p, devices)),
  );
  const arm = new ArmRun<F>({
    world,
    mover,
    walk,
    devices,
    processes,
    handover,
    settle,
    operators: new Operators(world),
    maxSteps,
    cancelled: options.cancelled ?? (() => false),
  });
  board.onMissed = (signal, width, cause) =>
    report(world, {
      code: "input-too-short",
      severity: "warning",
      stepId: log.stepOf(cause),
      subject: signal,
      message: `${signal} is on for ${inSeconds(width)} only, less than a scan time of ${inSeconds(scan)}: the controller may miss it and is taken to.`,
      mend: `Make it last at least ${inSeconds(scan)}, or shorten the scan time.`,
    });
  for (const run of devices.values()) connectDevice(world, run);
  queue.schedule(0, RANK.arm, () => arm.advance());
  while (queue.step());
  arm.stuck();
  log.closeAll(queue.now);

  const known = passBegun as { of: number } | undefined;
  options.onProgress?.(known?.of ?? 1, known?.of ?? 1);
  return { world, arm, passes, devices, processes, handover };
}
