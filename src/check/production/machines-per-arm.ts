/** How many machines like the cell's one arm could serve, when it goes to whichever calls first. */
import { processesOf } from "../../cell/equipment.ts";
import type { Cell } from "../../cell/model.ts";
import {
  always,
  constantInterference,
  exponentialInterference,
  fixedBalance,
  fixedRound,
  replicateDays,
} from "../../production/index.ts";
import type { VariantRuns } from "../cycle-report.ts";

/** Rates in parts per hour. */
export interface MachinesRow {
  readonly machines: number;
  /** Every time as stated in the middle. */
  readonly fixed: number;
  /** Simulated with the times of the file between shortest and longest. */
  readonly simulated: number;
  readonly simulatedHalf: number | null;
  /** Machining times that vary without bound (exponential), service constant, and both varying. */
  readonly constantService: number;
  readonly randomService: number;
}

export interface MachinesPerArm {
  /** Time of a machine for one part, and of the arm for it. */
  readonly machine_s: number;
  readonly arm_s: number;
  /** Number of machines at which neither waits. */
  readonly balance: number;
  readonly rows: readonly MachinesRow[];
}

const MOST = 12;

/** Undefined where it has no answer: no machine, no work of the arm, or parts that visit several machines. */
export function machinesPerArm(cell: Cell, runs: VariantRuns, seed: number): MachinesPerArm | undefined {
  const { nominal } = runs;
  if (cell.machines.size === 0 || nominal.partsFinished === 0 || !(nominal.robot_s > 0)) return undefined;
  const processes = new Set(processesOf(cell).map(({ name }) => name));
  const started = nominal.activities.filter((a) => a.kind === "process" && processes.has(a.lane)).length;
  // One visit per part: one machine, or several among which the parts are shared out.
  if (Math.abs(started / nominal.partsFinished - 1) > 0.1) return undefined;
  const engaged = (run: VariantRuns["nominal"]) => run.machines.reduce((sum, use) => sum + use.engaged_s, 0);
  const [machine, arm] = [engaged(nominal), nominal.robot_s];
  if (!(machine > 0)) return undefined;
  const { balance } = fixedBalance(arm, 0 as never, machine as never);
  const most = Math.min(MOST, Math.max(cell.machines.size, Math.ceil(balance)) + 1);
  const between = (values: readonly number[]) => {
    const [min, likely, max] = [...values].sort((a, b) => a - b) as [number, number, number];
    return { kind: "triangular" as const, min: min as never, likely: likely as never, max: max as never };
  };
  const machining = between([engaged(runs.fastest), machine, engaged(runs.slowest)]);
  const service = between([runs.fastest.robot_s, arm, runs.slowest.robot_s]);
  const rows = Array.from({ length: most }, (_, i) => {
    const machines = i + 1;
    const week = replicateDays(
      {
        stations: Array.from({ length: machines }, (__, k) => ({ name: `${k}`, machining, service })),
        order: "first call",
        stops: [],
        toolChanges: [],
        refill: undefined,
        shift: { hours: 24, perDay: 1, daysPerWeek: 7 },
        people: { count: 1, response: always(0) },
        unattended: false,
        scrap: 0,
      },
      { days: 2, replications: 4, seed, plannedPerPart: arm },
    ).made;
    const perHour = (perMachining: number) => (perMachining / machine) * 3600;
    return {
      machines,
      fixed: (machines * 3600) / fixedRound(machines, arm, 0 as never, machine as never),
      simulated: week.mean / 168,
      simulatedHalf: week.half === undefined ? null : week.half / 168,
      constantService: perHour(constantInterference(machines, arm / machine).rate),
      randomService: perHour(exponentialInterference(machines, arm / machine).rate),
    };
  });
  return { machine_s: machine, arm_s: arm, balance, rows };
}
