/** The values that variables can have while an automaton is at a location, over everything that a network can do. */
import { ContractError } from "../../math/contract-error.ts";
import { clockBounds } from "./clock-bounds.ts";
import { compile } from "./compile.ts";
import type { Network } from "./network.ts";
import { Passed } from "./passed.ts";
import { Search, type Stop } from "./search.ts";
import { Stepper } from "./stepper.ts";
import { Budget, MemoryLimit } from "./store.ts";

export interface ReachableOptions {
  /** Most memory for states, bytes; default 1 GiB. */
  readonly memory?: number;
  readonly onProgress?: (states: number, frontier: number) => void;
  readonly cancelled?: () => boolean;
}

export type Reachable =
  | {
      readonly ok: true;
      /** For each location asked for, each combination of values once, in the order in which it was found. */
      readonly at: ReadonlyMap<string, readonly Int32Array[]>;
      readonly states: number;
    }
  /** Not explored to the end, and why. */
  | { readonly ok: false; readonly reason: string };

/**
 * Explores a network to the end. Nothing is left out by reduction: every combination of values that can come about is told.
 * @param automaton name of the automaton whose locations are asked for @param variables single values, by name
 * @throws ContractError if a name does not exist in the network
 */
export function reachableVariables(
  network: Network,
  automaton: string,
  locations: readonly string[],
  variables: readonly string[],
  options: ReachableOptions = {},
): Reachable {
  const index = network.automata.findIndex(({ name }) => name === automaton);
  if (index < 0) throw new ContractError(`reachableVariables: the network has no automaton "${automaton}"`);
  const numbers = new Map<number, string>();
  for (const location of locations) {
    const number = network.automata[index]!.locations.findIndex(({ name }) => name === location);
    if (number < 0) throw new ContractError(`reachableVariables: ${automaton} has no location "${location}"`);
    numbers.set(number, location);
  }
  const fields = variables.map((name) => {
    const variable = network.variables.find((v) => v.name === name);
    if (variable === undefined) throw new ContractError(`reachableVariables: the network has no variable "${name}"`);
    return variable.base;
  });
  const found = new Map<string, Map<string, Int32Array>>(locations.map((location) => [location, new Map()]));
  const stepper = new Stepper(compile(network), clockBounds(network, [], 0, false), { diagonals: [] });
  try {
    const passed = new Passed(stepper, new Budget(options.memory ?? 2 ** 30));
    const search = new Search(stepper, passed);
    const control = { onProgress: options.onProgress, cancelled: options.cancelled };
    const stop = search.run([], control, undefined, () => {
      const location = numbers.get(stepper.source[index]!);
      if (location === undefined) return;
      const values = Int32Array.from(fields, (field) => stepper.source[field]!);
      const key = values.join();
      const known = found.get(location)!;
      if (!known.has(key)) known.set(key, values);
    });
    if (stop !== undefined) return { ok: false, reason: reasonOf(stop) };
    return {
      ok: true,
      at: new Map([...found].map(([location, states]) => [location, [...states.values()]])),
      states: passed.count,
    };
  } catch (error) {
    if (!(error instanceof MemoryLimit)) throw error;
    return { ok: false, reason: reasonOf({ kind: "memory" }) };
  }
}

function reasonOf(stop: Pick<Stop, "kind"> & { readonly message?: string }): string {
  if (stop.kind === "memory") return "more states than fit into the memory allowed";
  if (stop.kind === "cancelled") return "stopped before all states were seen";
  return `a move of the network has no meaning: ${stop.message ?? ""}`;
}
