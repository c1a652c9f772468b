/** What several machines served by one arm come to. */
import { ContractError } from "../../math/contract-error.ts";

export interface Interference {
  readonly machines: number;
  /** Share of the time in which one machine runs: its availability, or efficiency. */
  readonly running: number;
  /** Share of the time in which the arm serves. */
  readonly armBusy: number;
  /** Mean number of machines that stand and wait, not counting the one being served. */
  readonly waiting: number;
  /** Services per machining time, of all machines together. */
  readonly rate: number;
}

/** Everything from the share of the time in which the arm serves. */
export function interferenceOf(machines: number, ratio: number, armBusy: number): Interference {
  const running = armBusy / (machines * ratio);
  return {
    machines,
    running,
    armBusy,
    waiting: Math.max(0, machines * (1 - running) - armBusy),
    rate: armBusy / ratio,
  };
}

/** @throws ContractError */
export function checkedInterference(name: string, machines: number, ratio: number): void {
  if (!Number.isInteger(machines) || machines < 1 || machines > 10_000)
    throw new ContractError(`${name}: machines must be a whole number from 1 to 10000, got ${machines}`);
  if (!(ratio > 0) || !Number.isFinite(ratio))
    throw new ContractError(`${name}: the ratio of service to machining time must be finite and above 0, got ${ratio}`);
}
