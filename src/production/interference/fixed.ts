/** Several machines per arm when every time is fixed: the arm goes round them in turn. */
import { ContractError } from "../../math/contract-error.ts";
import type { Seconds } from "../../math/units.ts";

export interface FixedRound {
  /** Number of machines at which neither the arm nor the machines would wait: (a + t) / (a + b). */
  readonly balance: number;
  /** Round with the whole number below: the machines set the pace, a + t. Undefined when that number is 0. */
  readonly below: { readonly machines: number; readonly round: Seconds } | undefined;
  /** Round with the whole number above: the arm sets the pace, n (a + b). */
  readonly above: { readonly machines: number; readonly round: Seconds };
}

/** Time of one round in which each of `machines` makes one part: max(a + t, n (a + b)). */
export function fixedRound(machines: number, load: Seconds, travel: Seconds, machining: Seconds): Seconds {
  check("fixedRound", load, travel, machining);
  if (!Number.isInteger(machines) || machines < 1)
    throw new ContractError(`fixedRound: machines must be a whole number of at least 1, got ${machines}`);
  return Math.max(load + machining, machines * (load + travel)) as Seconds;
}

/**
 * @param load time of the arm at one machine, unloading and loading, while that machine stands (a), >= 0
 * @param travel time of the arm between machines, while they run (b), >= 0   @param machining time of a machine (t), >= 0
 * @throws ContractError unless load + travel > 0
 * @source Groover, Automation, Production Systems and Computer-Integrated Manufacturing, machine clusters (recalled from memory)
 */
export function fixedBalance(load: Seconds, travel: Seconds, machining: Seconds): FixedRound {
  check("fixedBalance", load, travel, machining);
  const balance = (load + machining) / (load + travel);
  const least = Math.floor(balance + 1e-9);
  const most = Math.max(1, Math.ceil(balance - 1e-9));
  const at = (machines: number) => ({ machines, round: fixedRound(machines, load, travel, machining) });
  return { balance, below: least < 1 ? undefined : at(least), above: at(most) };
}

function check(name: string, load: number, travel: number, machining: number): void {
  for (const [what, value] of Object.entries({ load, travel, machining }))
    if (!(value >= 0) || !Number.isFinite(value))
      throw new ContractError(`${name}: ${what} must be finite and at least 0 s, got ${value}`);
  if (!(load + travel > 0)) throw new ContractError(`${name}: load + travel must be above 0 s`);
}
