/**
 * Pulses on an output as a machine's control takes them: it reacts to the rising edge, provided the pulse lasts for the
 * width asked for. A `pulse` step that is too short is not reacted to. A level switched on and off by `drive` is reacted
 * to at once, since nobody knows yet how long it will last, and reported when it turns out too short. A pulse that
 * follows the last by less than a scan time is taken as not seen.
 */
import type { SignalBoard } from "./board.ts";
import type { Cause } from "./log.ts";
import { TIME_TOLERANCE } from "./pace.ts";
import { inSeconds } from "./problems.ts";
import { report, type World } from "./world.ts";

export interface PulseTarget {
  readonly signal: string;
  readonly width: number;
  /** For messages: "lathe.chuck". */
  readonly subject: string;
  accept(cause: Cause | undefined): void;
}

export function watchPulses(world: World, target: PulseTarget): void {
  const { signal, width, subject } = target;
  let roseAt = Number.NEGATIVE_INFINITY;
  let fellAt = Number.NEGATIVE_INFINITY;
  let accepted = false;
  const tooShort = (lasts: number, cause: Cause | undefined, taken: string) =>
    report(world, {
      code: "pulse-too-short",
      severity: "error",
      stepId: world.log.stepOf(cause),
      subject,
      message: `The pulse on ${signal} lasts ${inSeconds(lasts)}; ${subject} needs at least ${inSeconds(width)} and ${taken}.`,
      mend: `Make the pulse at least ${inSeconds(width)} wide.`,
    });
  const listener: Parameters<SignalBoard["listen"]>[1] = (level, cause, stays) => {
    const { now } = world.queue;
    if (!level) {
      fellAt = now;
      if (accepted && now - roseAt < width - TIME_TOLERANCE) tooShort(now - roseAt, cause, "may not react");
      return;
    }
    roseAt = now;
    accepted = false;
    const gap = now - fellAt;
    if (gap < world.scan - TIME_TOLERANCE) {
      report(world, {
        code: "pulses-too-close",
        severity: "error",
        stepId: world.log.stepOf(cause),
        subject,
        message: `The pulse on ${signal} begins ${inSeconds(gap)} after the one before ended, less than a scan time of ${inSeconds(world.scan)}; ${subject} may see one pulse instead of two and is taken not to react to the second.`,
        mend: `Leave at least ${inSeconds(world.scan)} between two pulses, for instance with a dwell.`,
      });
      return;
    }
    if (stays !== undefined && stays < width - TIME_TOLERANCE) {
      tooShort(stays, cause, "does not react");
      return;
    }
    accepted = true;
    target.accept(cause);
  };
  world.board.listen(signal, listener);
}
