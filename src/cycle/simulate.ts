/**
 * Runs a cell's routine from start to end: the arm step by step, devices, processes and people beside it. Deterministic:
 * the same cell, mover and options give the same record, bit for bit.
 *
 * Model and its limits are in docs/explanation/cycle.md. In short: every range is taken at one end (or in the middle) as
 * the pace says; a changed input is seen one scan time later; a pulse is accepted once it has been on for its width;
 * nothing fails and nobody interferes.
 */

import type { Cell } from "../cell/model.ts";
import { ContractError } from "../math/contract-error.ts";
import { ArmRun, reportUnresolved } from "./arm-run.ts";
import { SignalBoard } from "./board.ts";
import { cycleBound } from "./bound.ts";
import { conditionHolds } from "./conditions.ts";
import { connectDevice, DeviceRun } from "./devices.ts";
import { Handover } from "./handover.ts";
import { ActivityLog, type Draft } from "./log.ts";
import { buildNetwork } from "./network.ts";
import { Operators } from "./operators.ts";
import { inSeconds, ProblemList } from "./problems.ts";
import { ProcessRun } from "./processes.ts";
import { EventQueue, RANK } from "./queue.ts";
import type { Completion, CycleOptions, CycleRun, Pass } from "./run.ts";
import { SettleWatch } from "./settle.ts";
import { type ActivitySlack, activitySlack, steadySlack, stepSlack } from "./slack.ts";
import { steadyWindow } from "./steady.ts";
import { isOutlet, Stock } from "./stock.ts";
import type { Activity, Mover } from "./types.ts";
import { covered, machineUse } from "./use.ts";
import { RoutineWalk } from "./walk.ts";
import { devicesOf, report, type World } from "./world.ts";

const MOST_STEPS = 200_000;

/**
 * Simulates one run of the entry routine for one part variant.
 * @throws ContractError when the variant is not a part of the cell, when a name in the cell does not exist, when routines
 * run themselves, or when the mover's answer has no finite duration
 * @example simulate(cell, mover, { variant: "short", pace: "nominal" }).period
 */
export function simulate<F>(cell: Cell, mover: Mover<F>, options: CycleOptions): CycleRun<F> {
  const { variant, pace } = options;
  if (!cell.parts.has(variant))
    throw new ContractError(
      `simulate: variant must be a part of the cell (${[...cell.parts.keys()].join(", ")}), got "${variant}"`,
    );
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
    stock: new Stock(cell),
    pass: () => walk.pass,
    step: () => arm.step?.id,
  };
  const walk = new RoutineWalk(cell, variant, {
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
    maxSteps: options.maxSteps ?? MOST_STEPS,
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
  const completions = completionsOf(world);
  if (completions.length === 0 && arm.outcome === "complete")
    report(world, {
      code: "no-part-finished",
      severity: "warning",
      stepId: undefined,
      message: "No part was left in a tray or nest during the run; the period given is that of the whole run.",
      mend: "Let the routine free finished parts into a tray or nest.",
    });
  const steady = steadyWindow(completions, passes, arm.end);
  const armDrafts = log.drafts.filter((d) => d.lane === "arm");
  const network = buildNetwork(log.drafts, log.arcs);
  const last = arm.last ?? 0;
  const slack = log.drafts.length === 0 ? [] : activitySlack(log, network, last, arm.end);
  const working = armDrafts.filter((d) => d.kind !== "wait");
  const robotInWindow = covered(working, steady);
  const period = (steady.end - steady.start) / steady.parts;
  const machines = machineUse(
    cell,
    log.drafts.filter((d) => d.kind === "process"),
    processes.flatMap((p) => p.engagements),
    steady,
  );
  const { pattern: _pattern, from: _from, ...window } = steady;
  return {
    variant,
    pace,
    outcome: arm.outcome ?? "complete",
    activities: finished(log, slack),
    duration: arm.end,
    steps: arm.steps,
    passes,
    partsFinished: completions.length,
    completions,
    period,
    partsPerHour: completions.length > 0 && period > 0 ? 3600 / period : 0,
    steady: window,
    robotBusy_s: arm.busy,
    robot_s: robotInWindow / steady.parts,
    robotShare: period > 0 ? robotInWindow / steady.parts / period : 0,
    machine_s: machines.reduce((most, m) => Math.max(most, m.engaged_s), 0),
    spindleIdle_s: machines.reduce(
      (least, m) => (m.spindleBusy_s > 0 ? Math.min(least, m.spindleIdle_s) : least),
      period,
    ),
    machines,
    bound:
      log.drafts.length === 0
        ? { by: "arm", shares: new Map() }
        : cycleBound(log, lastEventBefore(armDrafts, steady.end), steady, robotInWindow),
    slack: stepSlack(armDrafts, slack, steadySlack(armDrafts, network, passes, steady)),
    signals: board.traces(),
    devices: [...devices.values()].map((run) => ({ device: run.device.name, states: run.states })),
    sharedHolds: handover.shared,
    moves: arm.moves,
    problems: problems.list((stepId) => arm.paths.get(stepId) ?? ["routines", cell.entry]),
  };
}

/** Parts left in trays and nests and not taken up again. */
function completionsOf(world: World): Completion[] {
  return world.stock
    .resting()
    .filter(({ spot }) => isOutlet(world.cell.holders.get(spot.holder)))
    .map(({ token, spot, time, pass }) => ({
      time,
      pass,
      token: token.id,
      part: token.part,
      stage: token.stage,
      holder: spot.holder,
      place: spot.place,
    }));
}

/** End of the arm's last activity that ended by the time. */
function lastEventBefore(arm: readonly Draft[], time: number): number {
  const draft = arm.findLast((d) => d.end <= time + 1e-9) ?? arm[0]!;
  return 2 * draft.index + 1;
}

function finished(log: ActivityLog, slack: readonly ActivitySlack[]): Activity[] {
  const before = log.drafts.map((): { activity: number; at: number }[] => []);
  for (const { from, to, lag } of log.arcs) {
    const draft = log.drafts[from >> 1]!;
    before[to >> 1]!.push({ activity: from >> 1, at: (from & 1 ? draft.end : draft.start) + lag });
  }
  return log.drafts.map((draft) => {
    const after = before[draft.index]!.sort((a, b) => b.at - a.at || a.activity - b.activity).map((b) => b.activity);
    return {
      index: draft.index,
      lane: draft.lane,
      kind: draft.kind,
      label: draft.label,
      ...(draft.stepId === undefined
        ? {}
        : draft.lane === "arm"
          ? { stepId: draft.stepId }
          : { startedBy: draft.stepId }),
      start: draft.start,
      end: draft.end,
      pass: draft.pass,
      after: [...new Set(after)],
      slack: slack[draft.index]!.slack,
      critical: slack[draft.index]!.critical,
      ...(draft.motion === undefined ? {} : { motion: draft.motion }),
    };
  });
}
