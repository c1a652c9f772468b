import type { ProblemList } from "./build.ts";
import type { NetworkDescription, QueryDescription } from "./model.ts";
import type { Network } from "./network.ts";

export function checkSymmetry(
  _description: NetworkDescription,
  _queries: readonly QueryDescription[],
  _network: Network,
  _problems: ProblemList,
): void {}
