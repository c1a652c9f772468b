/**
 * Runs a cell's routine from start to end: the arm step by step, devices, processes and people beside it. Deterministic:
 * the same cell, mover and options give the same record, bit for bit.
 *
 * Model and its limits are in docs/explanation/cycle.md. In short: every range is taken at one end (or in the middle) as
 * the pace says; a changed input is seen one scan time later; a machine reacts to the rising edge of a pulse that lasts;
 * nothing fails and nobody interferes.
 */

import type { Cell } from "../cell/model.ts";
import { cycleBound } from "./bound.ts";
import type { Draft } from "./log.ts";
import { buildNetwork, type Network } from "./network.ts";
import { runRoutine } from "./routine-run.ts";
import type { Completion, CycleOptions, CycleRun } from "./run.ts";
import { type ActivitySlack, activitySlack, steadySlack, stepSlack } from "./slack.ts";
import { steadyWindow } from "./steady.ts";
import type { Activity, Mover } from "./types.ts";
import { covered, machineUse } from "./use.ts";
import { report, type World } from "./world.ts";

/**
 * Simulates one run of the entry routine for one part variant.
 * @throws ContractError when the variant is not a part of the cell, when a name in the cell does not exist, when routines
 * run themselves, or when the mover's answer has no finite duration
 * @example simulate(cell, mover, { variant: "short", pace: "nominal" }).period
 */
export function simulate<F>(cell: Cell, mover: Mover<F>, options: CycleOptions): CycleRun<F> {
  const { world, arm, passes, devices, processes, handover } = runRoutine(cell, mover, options);
  const { log, board, problems, variant, pace } = world;
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
    activities: finished(log.drafts, network, slack),
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
        : cycleBound(log.drafts, network, lastEventBefore(armDrafts, steady.end), steady, robotInWindow),
    slack: stepSlack(armDrafts, slack, steadySlack(armDrafts, network, passes, steady)),
    signals: board.traces(),
    devices: [...devices.values()].map((run) => ({ device: run.device.name, states: run.states })),
    sharedHolds: handover.shared,
    moves: arm.moves,
    jaws: arm.jaws,
    problems: problems.list((stepId) => arm.paths.get(stepId) ?? ["routines", cell.entry]),
    network,
  };
}

/** Parts left in trays and nests and not taken up again. */
function completionsOf(world: World): Completion[] {
  const left = world.stock.resting().filter(({ spot }) => world.stock.feeds.outlets.has(spot.holder));
  const worked = [...world.cell.machines.values()].some((m) => m.processes.some((p) => p.makes !== undefined));
  return left.map(({ token, spot, time, pass, stepId }) => {
    const last = world.cell.parts.get(token.part)?.stages.at(-1)?.name;
    if (worked && last !== undefined && token.stage !== last)
      world.problems.report(
        {
          code: "part-left-unfinished",
          severity: "caution",
          stepId,
          subject: spot.holder,
          message: `A part ${token.part} is left in ${spot.holder} while it is ${token.stage}, not yet ${last}.`,
          mend: "Check that the process ran on it, or leave it out if this holder is meant for such parts.",
        },
        time,
      );
    return {
      time,
      pass,
      token: token.id,
      part: token.part,
      stage: token.stage,
      holder: spot.holder,
      place: spot.place,
    };
  });
}

/** End of the arm's last activity that ended by the time. */
function lastEventBefore(arm: readonly Draft[], time: number): number {
  const draft = arm.findLast((d) => d.end <= time + 1e-9) ?? arm[0]!;
  return 2 * draft.index + 1;
}

function finished(drafts: readonly Draft[], network: Network, slack: readonly ActivitySlack[]): Activity[] {
  return drafts.map((draft) => {
    const { index, lane, kind, label, start, end, pass, stepId, motion } = draft;
    const { slack: own, critical } = slack[index]!;
    const after = before(network, index);
    const activity: { -readonly [K in keyof Activity]: Activity[K] } = {
      index,
      lane,
      kind,
      label,
      start,
      end,
      pass,
      after,
      slack: own,
      critical,
    };
    if (stepId !== undefined) activity[lane === "arm" ? "stepId" : "startedBy"] = stepId;
    if (motion !== undefined) activity.motion = motion;
    return activity;
  });
}

/** Activities that an activity came after, the one that was last first; equal ones in order of index. */
function before({ time, firstInto, from, lagInto }: Network, activity: number): number[] {
  const begin = firstInto[2 * activity]!;
  const end = firstInto[2 * activity + 2]!;
  if (end - begin === 1) return [from[begin]! >> 1];
  const latest = new Map<number, number>();
  for (let k = begin; k < end; k++) {
    const cause = from[k]! >> 1;
    const at = time[from[k]!]! + lagInto[k]!;
    if (at > (latest.get(cause) ?? Number.NEGATIVE_INFINITY)) latest.set(cause, at);
  }
  return [...latest].sort((a, b) => b[1] - a[1] || a[0] - b[0]).map(([cause]) => cause);
}
