/** What the mover answered, laid out in time. */
import type { GoStep, PressStep } from "../cell/steps.ts";
import { ContractError } from "../math/contract-error.ts";
import type { MoveOutcome } from "./types.ts";
import { report, type World } from "./world.ts";

/**
 * Gives the activities of a chain their times, from now on; a motion that cannot be done takes none and is reported.
 * @returns time at which the chain ends
 * @throws ContractError when the answer has no finite duration, or not one time per step
 */
export function layOut<F>(
  world: World,
  steps: readonly (GoStep | PressStep)[],
  activities: readonly number[],
  outcome: MoveOutcome<F>,
): number {
  const start = world.queue.now;
  if (!outcome.ok) {
    for (const activity of activities) world.log.close(activity, start);
    report(world, {
      code: "motion-failed",
      severity: "error",
      stepId: steps[Math.min(outcome.step, steps.length - 1)]!.id,
      message: textOf(outcome.failure, "message") ?? "The motion cannot be done.",
      mend: textOf(outcome.failure, "mend") ?? "Change the target, the way of moving or the place of what is served.",
    });
    return start;
  }
  const { duration, perStep, motion } = outcome;
  if (perStep.length !== steps.length || !(duration >= 0 && duration < Number.POSITIVE_INFINITY))
    throw new ContractError(
      `simulate: the mover must give ${steps.length} times and a finite duration >= 0 s for ${steps[0]!.id}, got ${perStep.length} and ${duration}`,
    );
  const end = start + duration;
  let at = start;
  activities.forEach((activity, i) => {
    const draft = world.log.drafts[activity]!;
    draft.start = at;
    at = i === activities.length - 1 ? end : Math.min(end, at + perStep[i]!);
    world.log.close(activity, at);
    draft.motion = motion;
  });
  return end;
}

/** A text that a failure may carry; failures are opaque to the cycle otherwise. */
function textOf(failure: unknown, key: "message" | "mend"): string | undefined {
  const text = (failure as { readonly [key: string]: unknown } | undefined)?.[key];
  return typeof text === "string" ? text : undefined;
}
