/** Recovery procedures of a cell whose routine has been simulated, gathered on cards: steps with the same procedure share one. */
import type { Arm } from "../../arm/index.ts";
import type { Cell } from "../../cell/index.ts";
import { recoverySteps, type StepRecovery } from "../../proof/index.ts";
import { ClearanceMemory } from "../clearance/memory.ts";
import { createSceneBuilder } from "../clearance/moving-scene.ts";
import type { VariantRuns } from "../cycle-report.ts";
import { stepMotions } from "../proof/step-motions.ts";
import { type CardReport, cardsOf } from "./cards.ts";
import { type RetreatOptions, stepRetreats } from "./retreats.ts";

export interface RecoverOptions extends Pick<RetreatOptions, "meshes" | "cancelled"> {
  /** Steps that cards are wanted for; default: all. */
  readonly steps?: readonly string[];
  /** Most memory for states, bytes; default 1 GiB. */
  readonly memory?: number;
  readonly onProgress?: (share: number, doing: string) => void;
}

export type RecoverOutcome =
  | ({ readonly ok: true } & CardReport)
  /** No procedures could be planned, and why. */
  | { readonly ok: false; readonly reason: string };

/** Deterministic; pure but for the callbacks. */
export function recoverRuns(
  cell: Cell,
  arm: Arm,
  runs: ReadonlyMap<string, VariantRuns>,
  options: RecoverOptions = {},
): RecoverOutcome {
  const { meshes, cancelled, memory: states, steps, onProgress } = options;
  const memory = new ClearanceMemory();
  const builder = createSceneBuilder(cell, arm, meshes, memory);
  const shared = { memory, builder, ...(meshes && { meshes }), ...(cancelled && { cancelled }) };
  onProgress?.(0, "motions");
  const motions = stepMotions(cell, arm, runs, shared);
  onProgress?.(0.1, "ways home");
  const retreats = stepRetreats(cell, arm, runs, shared);
  const found: StepRecovery[] = [];
  const assumptions = new Set<string>();
  let done = 0;
  for (const variant of runs.keys()) {
    const outcome = recoverySteps(cell, {
      variant,
      motions: motions.get(variant)!,
      retreats: retreats.get(variant)!,
      ...(steps === undefined ? {} : { steps }),
      ...(states === undefined ? {} : { memory: states }),
      ...(cancelled === undefined ? {} : { cancelled }),
      onProgress: (share, doing) => onProgress?.(0.3 + (0.7 * (done + share)) / runs.size, doing),
    });
    if (!outcome.ok) return { ok: false, reason: `${variant}: ${outcome.reason}` };
    found.push(...outcome.steps);
    for (const assumption of outcome.assumptions) assumptions.add(assumption);
    done++;
  }
  return { ok: true, ...cardsOf(cell, found), assumptions: [...assumptions] };
}
