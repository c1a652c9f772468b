/** Chains of motions: a motion with a blend and the motions that surely follow it at once are planned together. */
import type { GoStep } from "../cell/steps.ts";
import type { PlainStep, RoutineWalk } from "./walk.ts";
import { report, type World } from "./world.ts";

export interface Chain {
  readonly steps: readonly GoStep[];
  /** Step fetched from the walk that does not belong to the chain. */
  readonly next: PlainStep | undefined;
}

/** Fetches what belongs to the chain that begins with a motion of the gripper. */
export function gatherChain(world: World, walk: RoutineWalk, first: GoStep, gripper: string): Chain {
  const steps = [first];
  for (let tail = first; tail.blend > 0; ) {
    const next = walk.next(true);
    if (next?.kind !== "go" || (next.gripper ?? gripper) !== gripper) {
      reportBlend(world, tail, next);
      return { steps, next };
    }
    steps.push(next);
    tail = next;
  }
  return { steps, next: undefined };
}

function reportBlend(world: World, tail: GoStep, next: PlainStep | undefined): void {
  const reason =
    next === undefined
      ? "nothing is sure to follow at once (the end of the routine or of a pass, or a branch on a signal or holder)"
      : next.kind === "go"
        ? `${next.id} moves another gripper`
        : `${next.id} is not a motion`;
  report(world, {
    code: "blend-without-effect",
    severity: "caution",
    stepId: tail.id,
    message: `The blend of ${Number((tail.blend * 1000).toFixed(3))} mm has no effect: ${reason}, so the arm stops at the point.`,
    mend: "Leave the blend out, or let another motion follow at once.",
  });
}
