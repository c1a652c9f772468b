/**
 * Pulses against the scan of what receives them.
 *
 * A receiver that samples at intervals of at most T, behind a filter that passes nothing shorter than F, sees a pulse for certain
 * exactly when the pulse lasts F + T or longer. A remote station carries an output's two edges with up to one update U between
 * them lost: of a pulse of width w at least w - U is on its terminal. An input of a remote station is seen after F + U + T.
 * (Derived in docs/explanation/wiring.md.)
 */
import type { Cell } from "../cell/model.ts";
import type { Seconds } from "../math/units.ts";
import { millis } from "./figures.ts";
import type { WiringProblem } from "./problem.ts";
import type { Wire } from "./wire.ts";

export interface PulseCheck {
  readonly signal: string;
  readonly direction: "input" | "output";
  /** As commanded or stated, s. */
  readonly width: Seconds;
  /** What is on the wire for certain, s; null where the station's update is not stated. */
  readonly sure: Seconds | null;
  /** What the receiver needs, s; null where it is not stated. For an input without a stated filter: without it. */
  readonly needed: Seconds | null;
  readonly verdict: "seen" | "too short" | "unknown";
  /** What is not stated, in words. */
  readonly missing: readonly string[];
}

/** Every signal that carries pulses. */
export function checkPulses(cell: Cell, wires: readonly Wire[]): PulseCheck[] {
  const { scan } = cell.controller;
  return wires.flatMap(({ signal, kind, end, port, ratings }): PulseCheck[] => {
    const width = end.pulse;
    if (width === undefined || !kind.startsWith("digital")) return [];
    const missing: string[] = [];
    const remote = port?.remote;
    if (remote !== undefined && remote.update === undefined) missing.push(`the update time of ${port!.name}`);
    const common = { signal: signal.name, direction: signal.direction, width, missing };
    if (signal.direction === "output") {
      const needed = signal.receiverScan ?? null;
      if (needed === null) missing.push("its receiver scan");
      const sure =
        remote === undefined ? width : remote.update === undefined ? null : Math.max(0, width - remote.update);
      return [{ ...common, sure, needed, verdict: verdictOf(sure ?? width, needed, missing) }];
    }
    if (ratings.inputFilter === undefined)
      missing.push(port === undefined ? "its point" : `the input filter of ${port.name}`);
    const needed = scan + (ratings.inputFilter ?? 0) + (remote?.update ?? 0);
    return [{ ...common, sure: width, needed, verdict: verdictOf(width, needed, missing) }];
  });
}

/** What is known decides against a pulse; only when everything is known does it decide for one. */
function verdictOf(sure: Seconds, needed: Seconds | null, missing: readonly string[]): PulseCheck["verdict"] {
  // Times are stated in decimals; sums of equal ones may differ in the last digit.
  if (needed !== null && sure < needed * (1 - 1e-12)) return "too short";
  return missing.length > 0 ? "unknown" : "seen";
}

export function pulseProblems(pulses: readonly PulseCheck[]): WiringProblem[] {
  return pulses.flatMap(({ signal, direction, width, sure, needed, verdict }) =>
    verdict !== "too short"
      ? []
      : [
          {
            code: "pulse-unseen",
            severity: "error" as const,
            path: ["signals", signal],
            subject: "",
            message:
              `the pulse of ${millis(width)} on ${signal} can be missed: its receiver needs ${millis(needed!)} to see it` +
              (sure !== null && sure < width ? `, and the remote station may shorten it to ${millis(sure)}` : ""),
            mend:
              direction === "output"
                ? "Pulse longer, or use a level that is held until it is answered."
                : "Lengthen the pulse where it is made, shorten the scan or the filter, or use a level.",
          },
        ],
  );
}
