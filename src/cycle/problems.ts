/** Problems met in a run: gathered once per code, step and subject, with the number of times. */
import type { Severity } from "../cell/finding.ts";
import type { CycleProblem } from "./run.ts";

export interface ProblemReport {
  readonly code: string;
  readonly severity: Severity;
  readonly stepId: string | undefined;
  /** Device, signal or gripper concerned: the same step may have the same problem with several. */
  readonly subject?: string;
  readonly message: string;
  readonly mend: string;
}

export class ProblemList {
  readonly #byKey = new Map<string, { report: ProblemReport; times: number; firstAt: number }>();

  /** Whether one with any of the codes has been met at a step. */
  has(codes: ReadonlySet<string>, stepId: string): boolean {
    for (const { report } of this.#byKey.values()) if (report.stepId === stepId && codes.has(report.code)) return true;
    return false;
  }

  report(report: ProblemReport, now: number): void {
    const key = `${report.code}|${report.stepId ?? ""}|${report.subject ?? ""}`;
    const known = this.#byKey.get(key);
    if (known === undefined) this.#byKey.set(key, { report, times: 1, firstAt: now });
    else known.times++;
  }

  /** In the order of first occurrence. */
  list(pathOf: (stepId: string) => readonly (string | number)[]): CycleProblem[] {
    return [...this.#byKey.values()].map(({ report, times, firstAt }) => ({
      code: report.code,
      severity: report.severity,
      stepId: report.stepId ?? "",
      path: pathOf(report.stepId ?? ""),
      message: times > 1 ? `${report.message} (${times} times in the run; this is the first)` : report.message,
      mend: report.mend,
      times,
      firstAt,
    }));
  }
}

/** Seconds as text, to a tenth of a millisecond: "0.35 s". */
export const inSeconds = (value: number): string => `${Number(value.toFixed(4))} s`;
